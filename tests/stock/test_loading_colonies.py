"""Bringing in tables of mother colonies."""

from datetime import date

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.actions.founding import add_party
from fraginv.base.models import Code, OldCode, Party, Person
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.loads import LoadResult
from fraginv.base.rules.problems import TableErrors
from fraginv.base.tables import read_table
from fraginv.stock.actions.cuttings import cut_colony
from fraginv.stock.loading.colonies import check, columns, load
from fraginv.stock.models import Colony, ColonyEvent
from fraginv.stock.queries.differences import stock_differences
from tests.factories import make_colony, make_rack, make_variety

TABLE = (
    "variety,origin,acquired_on,supplier,invoice,permit,source_code,owner,owner_share,"
    "owner_least,rest_days,most_pieces,last_cut_on,rack,old_code,note\n"
    "Quay Lantern,Bought,2025-04-12,Tidepool Traders,TT-0417,IM/25/1,f,,,,,,2026-01-20,"
    "display / a / rack 1,QL-1,\n"
    "quay  lantern,on loan,2025-05-01,,,,,Tidepool Traders,0.5,12.00,45,20,,,,shy\n"
)

pytestmark = pytest.mark.usefixtures("frozen")


@pytest.fixture(autouse=True)
def _stock(manager: Person) -> None:
    make_variety(manager, name="Quay Lantern")
    make_rack(manager)


def rows_of(text: str) -> list[object]:
    return list(read_table(text.encode(), columns=columns()))


def bring(text: str, by: Person, *, dry_run: bool = False) -> LoadResult:
    return load(read_table(text.encode(), columns=columns()), by=by, dry_run=dry_run)


def test_colonies_come_in_with_their_papers_place_and_terms(manager: Person) -> None:
    assert bring(TABLE, manager, dry_run=True).rows == 2
    assert not Colony.objects.exists()
    assert not Party.objects.exists()
    result = bring(TABLE, manager)
    bought, lent = Colony.objects.select_related("supplier", "owner", "rack").order_by("pk")
    assert (bought.origin, bought.source_code, bought.rest_days) == ("bought", "F", 30)
    assert (bought.invoice, bought.permit) == ("TT-0417", "IM/25/1")
    assert (bought.acquired_on, bought.last_cut_on) == (date(2025, 4, 12), date(2026, 1, 20))
    assert bought.rack is not None
    assert bought.rack.name == "rack 1"
    assert (lent.owner, lent.supplier) == (bought.supplier, None)
    assert (lent.owner_share, lent.owner_least) == (5_000, 1200)
    assert (lent.rest_days, lent.most_pieces, lent.note) == (45, 20, "shy")
    assert result.said == [
        "New suppliers and owners: Tidepool Traders.",
    ]
    assert [(one.line, one.code, one.old_code) for one in result.given] == [
        (2, bought.code_id, "QL-1"),
        (3, lent.code_id, ""),
    ]
    assert OldCode.objects.get().folded == "QL1"
    assert list(ColonyEvent.objects.order_by("pk").values_list("colony", "kind", "day")) == [
        (bought.pk, "came in", date(2025, 4, 12)),
        (lent.pk, "came in", date(2025, 5, 1)),
    ]
    assert not [*stock_differences()]


def test_what_was_seized_or_lent_on_no_terms_comes_in_barred(manager: Person) -> None:
    head, _, lent, _ = TABLE.split("\n")
    seized = "quay lantern,seized,2025-05-01" + "," * 13
    bare = "quay lantern,on loan,2025-05-01" + "," * 13
    result = bring("\n".join([head, lent, seized, bare]) + "\n", manager)
    assert result.said[-1] == (
        "On loan or seized, lines 3, 4: barred from cutting, sale and giving until the owner "
        "role lifts the bar."
    )
    told = [(one.barred_because, one.bars.count()) for one in Colony.objects.order_by("pk")]
    assert told == [("", 0), ("Seized, held for an authority", 1), ("On loan", 1)]
    assert not list(stock_differences())


def test_a_colony_that_came_in_is_cut_like_any_other(manager: Person) -> None:
    bring(TABLE, manager)
    assert cut_colony(Colony.objects.latest("pk").pk, pieces=3, by=manager).pieces == 3


def test_a_label_printed_ahead_is_bound(manager: Person) -> None:
    first, second = issue_blank_run(2)
    table = "variety,origin,acquired_on,code\n" + "".join(
        f"Quay Lantern,bought,2026-01-01,{code}\n"
        for code in (show_code(second.code).lower(), "", f"https://reef.test/T/{first.code}")
    )
    result = bring(table, manager)
    assert [one.code for one in result.given][::2] == [second.code, first.code]
    assert list(Code.objects.filter(run__isnull=False).values_list("kind", flat=True)) == [
        "colony",
        "colony",
    ]


HEADS = "variety,origin,acquired_on,supplier,owner,owner_share,last_cut_on,rack,code,old_code"


@pytest.mark.parametrize(
    ("row", "column", "said"),
    [
        ("Quay Lanten,bought,2026-01-01,,,,,,,", "variety", "The nearest is Quay Lantern."),
        ("Quay Lantern,found,2026-01-01,,,,,,,", "origin", "found is not one of: cut here, bou"),
        ("Quay Lantern,bought,2027-01-01,,,,,,,", "acquired_on", "2027-01-01 has not come yet"),
        ("Quay Lantern,bought,01.02.2026,,,,,,,", "acquired_on", "It may be 2026-01-02 or 2026-"),
        ("Quay Lantern,bought,46054,,,,,,,", "acquired_on", "most likely 2026-02-01: give the"),
        ("Quay Lantern,bought,2026-01-02,,,,2026-01-01,,,", "last_cut_on", "before the colony"),
        ("Quay Lantern,bought,2026-01-01,,,0.5,,,,", "owner_share", "it is an owner's; write who"),
        ("Quay Lantern,bought,2026-01-01,,,,,rack 11,,", "rack", "The nearest is Display / A / ra"),
        ("Quay Lantern,bought,2026-01-01,,,,,,QL-9,", "code", "goes into the column old_code"),
        ("Quay Lantern,bought,2026-01-01,,,,,,7K3-Q9F-N,", "code", "was never printed here"),
        ("Quay Lantern,bought,2026-01-01,,,,,,,--", "old_code", "has neither letters nor digits"),
        ("Quay Lantern,bought,2026-01-01,,,,,,,old 7", "old_code", "old 7 is on something that l"),
    ],
)
def test_one_bad_row_keeps_all_out(manager: Person, row: str, column: str, said: str) -> None:
    make_rack(manager)
    there = make_colony(manager)
    OldCode.objects.create(code=there.code, text="OLD-7", folded="OLD7")
    table = f"{HEADS}\n{row}\nQuay Lantern,bought,2026-01-01,,,,,,,\n"
    with pytest.raises(TableErrors, match=said) as caught:
        bring(table, manager)
    assert [(problem.line, problem.column) for problem in caught.value.problems] == [(2, column)]
    with pytest.raises(TableErrors, match=said):
        check(read_table(table.encode(), columns=columns()), by=manager)
    assert Colony.objects.count() == 1


def test_rows_that_clash_with_each_other_are_named(manager: Person) -> None:
    (label,) = issue_blank_run(1)
    row = f"Quay Lantern,bought,2026-01-01,{label.code},Q 1\n"
    with pytest.raises(TableErrors) as caught:
        bring(f"variety,origin,acquired_on,code,old_code\n{row}{row}", manager)
    assert [(one.line, one.column) for one in caught.value.problems] == [
        (3, "code"),
        (3, "old_code"),
    ]
    assert "stands on line 2 already" in caught.value.message


def test_an_old_code_of_what_has_gone_is_free_again(manager: Person) -> None:
    gone = make_colony(manager)
    OldCode.objects.create(code=gone.code, text="QL-1", folded="QL1")
    Colony.objects.filter(pk=gone.pk).update(state="dead")
    assert bring(TABLE, manager).rows == 2


def test_a_rack_may_be_named_by_its_code_or_as_far_as_it_is_plain(manager: Person) -> None:
    second = make_rack(manager)
    other = make_rack(manager, name="rack 1", quarantine=True)
    for text, found in (
        (show_code(second.code_id), second),
        ("Rack 2", second),
        ("a/rack 2", second),
        ("Quarantine / A / rack 1", other),
    ):
        bring(f"variety,origin,acquired_on,rack\nQuay Lantern,bought,2026-01-01,{text}\n", manager)
        assert Colony.objects.latest("pk").rack == found
    with pytest.raises(TableErrors, match="may be one of several racks. Write which: Display / A"):
        bring("variety,origin,acquired_on,rack\nQuay Lantern,bought,2026-01-01,a/rack 1\n", manager)


def test_a_supplier_who_is_known_is_not_made_again(manager: Person) -> None:
    known = add_party("tidepool TRADERS")
    result = bring(TABLE, manager)
    assert Party.objects.get() == known
    assert not any(line.startswith("New") for line in result.said)


def test_statements_do_not_grow_with_the_rows(
    manager: Person, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    rows = "".join(f"Quay Lantern,bought,2026-01-01,S {n % 5},Q{n}\n" for n in range(200))
    # SQLite takes a thousand values in one statement: some 40 colonies, 160 events, 330 codes.
    with django_assert_max_num_queries(25):
        bring(f"variety,origin,acquired_on,supplier,old_code\n{rows}", manager)
    assert Colony.objects.count() == OldCode.objects.count() == 200
