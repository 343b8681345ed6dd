"""Bringing in tables of frags that are in the troughs already."""

from datetime import date
from time import process_time

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.models import Code, OldCode, Person
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.loads import LoadResult
from fraginv.base.rules.problems import TableErrors
from fraginv.base.tables import read_table
from fraginv.front.queries.differences import differences
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.loading.frags import check, columns, load
from fraginv.stock.models import Colony, Frag, FragEvent, Rack
from tests.factories import make_colony, make_frag, make_rack, make_variety

TABLE = (
    "variety,colony,pieces,cut_on,stage,size,heads,rack,row,column,medium,old_code,note\n"
    "Pier Moss,mother 1,,2026-02-20,ready,M,12,rack 1,1,4,plugs,PM-7,from the old tank\n"
    ",MOTHER-1,40,2026-10-01,healing,,,rack 1,,,disc,,\n"
    "pier moss,,,,,,,,,,,,\n"
)

pytestmark = pytest.mark.usefixtures("frozen")


@pytest.fixture
def rack(manager: Person) -> Rack:
    return make_rack(manager)


@pytest.fixture
def colony(manager: Person, rack: Rack) -> Colony:
    variety = make_variety(manager, name="Pier Moss", genus="Zoanthus")
    made = make_colony(manager, variety=variety, acquired_on=date(2024, 1, 1))
    OldCode.objects.create(code=made.code, text="Mother 1", folded="MOTHER1")
    return made


def bring(text: str, by: Person, *, dry_run: bool = False) -> LoadResult:
    return load(read_table(text.encode(), columns=columns()), by=by, dry_run=dry_run)


def test_frags_come_in_as_they_stand(manager: Person, colony: Colony, rack: Rack) -> None:
    assert bring(TABLE, manager, dry_run=True).rows == 3
    assert not Frag.objects.exists()
    result = bring(TABLE, manager)
    ready, lot, plain = Frag.objects.order_by("pk")
    assert (ready.stage, ready.size, ready.heads, ready.medium) == ("ready", "M", 12, "plug")
    assert (ready.rack, ready.hole_row, ready.hole_column) == (rack, 1, 4)
    assert (ready.colony, ready.cut_on) == (colony, date(2026, 2, 20))
    assert ready.ready_on == date(2026, 11, 25)
    assert (lot.variety, lot.is_lot, lot.pieces, lot.free) == (colony.variety, True, 40, 40)
    assert (lot.stage, lot.medium, lot.heal_by) == ("healing", "disc", date(2026, 10, 15))
    assert (plain.stage, plain.cut_on, plain.rack) == ("growing", date(2026, 11, 25), None)
    assert result.said == [
        "Living pieces: 42.",
        "Rows without a day of cutting, which count from today: 1.",
    ]
    assert [(one.line, one.code, one.old_code) for one in result.given] == [
        (2, ready.code_id, "PM-7"),
        (3, lot.code_id, ""),
        (4, plain.code_id, ""),
    ]


def test_each_has_one_event_that_leads_to_its_row(manager: Person, colony: Colony) -> None:
    bring(TABLE, manager)
    events = FragEvent.objects.order_by("frag_id")
    assert {(event.kind, event.seq, event.day) for event in events} == {
        ("received", 1, date(2026, 11, 25))
    }
    assert events[0].body["note"] == "from the old tank"
    # Events, sums, words: all that ``verify`` holds against each other.
    assert not [*differences()]


def test_blank_labels_are_bound_and_other_codes_follow_the_rows(
    manager: Person, colony: Colony
) -> None:
    first, second = issue_blank_run(2)
    table = f"variety,code\nPier Moss,{second.code}\nPier Moss,\nPier Moss,{first.code}\n"
    result = bring(table, manager)
    assert [one.code for one in result.given] == list(
        Frag.objects.order_by("pk").values_list("code", flat=True)
    )
    assert (result.given[0].code, result.given[2].code) == (second.code, first.code)
    assert Code.objects.filter(kind="blank").count() == 0


def test_what_stands_in_quarantine_water_is_in_quarantine(manager: Person, colony: Colony) -> None:
    make_rack(manager, name="tub", quarantine=True)
    result = bring("variety,pieces,rack\nPier Moss,3,tub\n", manager)
    frag = Frag.objects.get()
    assert (frag.quarantined, frag.quarantined_on) == (True, date(2026, 11, 25))
    assert result.said[1] == "In quarantine, for they stand in its water: 3 of them."
    assert not [*differences()]


HEADS = "variety,colony,pieces,cut_on,stage,size,rack,row,column,medium,code,old_code"


@pytest.mark.parametrize(
    ("row", "column", "said"),
    [
        (",,2,,,,,,,,,", "variety", "write the variety, or the colony it was cut from"),
        ("Pier Mos,,,,,,,,,,,", "variety", "The nearest is Pier Moss"),
        (",Mother 9,,,,,,,,,,", "colony", "Mother 9 is neither the code nor an old code"),
        ("Bay Fern,mother1,,,,,,,,,,", "variety", "is Pier Moss, not Bay Fern"),
        ("Pier Moss,,0,,,,,,,,,", "pieces", "0 is not from 1 to 500"),
        ("Pier Moss,,,2026-11-26,,,,,,,,", "cut_on", "2026-11-26 has not come yet"),
        ("Pier Moss,mother1,,2023-12-31,,,,,,,,", "cut_on", "before the colony came in"),
        ("Pier Moss,,,3/4/2026,,,,,,,,", "cut_on", "It may be 2026-03-04 or 2026-04-03"),
        ("Pier Moss,,,,dead,,,,,,,", "stage", "dead is no stage of a living frag; write one of"),
        ("Pier Moss,,,,ready,,,,,,,", "size", "what is ready has a size: one of S, M, L, mini"),
        ("Pier Moss,,,,,XL,,,,,,", "size", "XL is no size"),
        ("Pier Moss,,,,,,shelf,,,,,", "rack", "shelf is no rack here"),
        ("Pier Moss,,,,,,rack 1,2,,,,", "column", "a hole has a row and a column"),
        ("Pier Moss,,,,,,,2,3,,,", "rack", "write in which rack the hole is"),
        ("Pier Moss,,,,,,rack 1,7,1,,,", "row", "has 6 rows and 10 columns"),
        ("Pier Moss,,,,,,rack 1,1,11,,,", "column", "has 6 rows and 10 columns"),
        ("Pier Moss,,,,,,rack 1,1,1,,,", "row", "stands in row 1, column 1 of"),
        ("Pier Moss,,,,,,,,,nail,,", "medium", "nail: frags stand on one of plug, disc, tile"),
        ("Pier Moss,,,,,,,,,,7K3-Q9F-2,", "code", "is wrong; look at the label again"),
        ("Pier Moss,,,,,,,,,,USED,", "code", "is in use already; take another blank label"),
        ("Pier Moss,,,,,,,,,,,mother-1", "old_code", "is on something that lives here already"),
        ("Pier Moss,,,,,,,,,,,USED", "old_code", "is on something that lives here already"),
    ],
)
def test_one_bad_row_keeps_all_out(
    manager: Person, colony: Colony, rack: Rack, row: str, column: str, said: str
) -> None:
    make_variety(manager, name="Bay Fern")
    there = bring("variety,rack,row,column\nPier Moss,rack 1,1,1\n", manager).given[0].code
    table = f"{HEADS}\n{row.replace('USED', there)}\nPier Moss,,,,,,,,,,,\n"
    with pytest.raises(TableErrors, match=said) as caught:
        bring(table, manager)
    assert [(problem.line, problem.column) for problem in caught.value.problems] == [(2, column)]
    with pytest.raises(TableErrors, match=said):
        check(read_table(table.encode(), columns=columns()), by=manager)
    assert Frag.objects.count() == 1


@pytest.mark.parametrize("text", ["A, rack 1", "a,RACK 1", "Display: A, rack 1", "A / rack 1"])
def test_a_rack_may_be_written_as_pages_write_it(
    manager: Person, colony: Colony, rack: Rack, text: str
) -> None:
    bring(f'Variety,Rack,Cut on,Old code\nPier Moss,"{text}",2026-02-20,PM-9\n', manager)
    frag = Frag.objects.get()
    assert (frag.rack, frag.cut_on) == (rack, date(2026, 2, 20))
    assert OldCode.objects.filter(text="PM-9").exists()


def test_many_unknown_racks_are_named_in_time(manager: Person, colony: Colony) -> None:
    for number in range(2, 40):
        make_rack(manager, name=f"shelf {number}")
    rows = "".join(f"Pier Moss,shelf {number} b\n" for number in range(3_000))
    began = process_time()
    with pytest.raises(TableErrors, match="line 2, rack: shelf 0 b is no rack here. The nearest"):
        bring(f"variety,rack\n{rows}", manager)
    assert process_time() - began < 5


def test_rows_that_clash_with_each_other_are_named(manager: Person, colony: Colony) -> None:
    row = "Pier Moss,rack 1,2,2,P 1\n"
    with pytest.raises(TableErrors) as caught:
        bring(f"variety,rack,row,column,old_code\n{row}{row}", manager)
    assert [(one.line, one.column) for one in caught.value.problems] == [
        (3, "row"),
        (3, "old_code"),
    ]


def test_an_old_code_of_a_lost_frag_is_free_again(manager: Person, colony: Colony) -> None:
    bring("variety,old_code\nPier Moss,P1\n", manager)
    record_loss(Frag.objects.get().pk, pieces=1, cause="fell", by=manager)
    assert bring("variety,old_code\nPier Moss,p-1\n", manager).rows == 1
    assert not [*differences()]


def test_a_frag_cut_here_takes_no_hole_from_the_table(manager: Person, colony: Colony) -> None:
    frag = make_frag(manager, colony=colony)
    bring(f"colony,rack,row,column\n{show_code(colony.code_id)},rack 1,3,3\n", manager)
    assert Frag.objects.exclude(pk=frag.pk).get().hole_row == 3


def test_a_code_that_is_the_old_code_of_another_is_not_guessed(
    manager: Person, colony: Colony
) -> None:
    other = make_colony(manager, variety=colony.variety)
    OldCode.objects.create(code=other.code, text=colony.code_id, folded=colony.code_id)
    with pytest.raises(
        TableErrors, match=f"Write {show_code(other.code_id)} or {show_code(colony.code_id)}"
    ):
        bring(f"colony\n{colony.code_id}\n", manager)
    bring(f"colony\n{show_code(colony.code_id)}\n{show_code(other.code_id)}\n", manager)
    assert [frag.colony for frag in Frag.objects.order_by("pk")] == [colony, other]


def test_statements_do_not_grow_with_the_rows(
    manager: Person, colony: Colony, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    rows = "".join(f"Pier Moss,rack 1,Q{number}\n" for number in range(200))
    # SQLite takes a thousand values in one statement: some 27 frags, 100 events, 330 codes.
    with django_assert_max_num_queries(30):
        bring(f"variety,rack,old_code\n{rows}", manager)
    assert Frag.objects.count() == OldCode.objects.count() - 1 == 200


def test_ten_thousand_rows_take_a_fifth_of_a_minute(manager: Person, colony: Colony) -> None:
    rows = "".join(
        f"Pier Moss,mother 1,1,2026-02-20,ready,M,rack 1,Q{number}\n" for number in range(10_000)
    )
    began = process_time()
    bring(f"variety,colony,pieces,cut_on,stage,size,rack,old_code\n{rows}", manager)
    assert process_time() - began < 12
    assert Frag.objects.filter(stage="ready").count() == 10_000
