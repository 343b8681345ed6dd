"""What labels say, read with a fixed number of queries."""

from datetime import UTC, date, datetime

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.errors import NotFound
from fraginv.base.models import Code, Organisation, Person
from fraginv.labels.actions.printing import start_run
from fraginv.labels.queries.labels import codes_of_cutting, codes_to_print, labels_for
from fraginv.labels.queries.runs import get_run, latest_runs, run_pdf, what_host_gives
from fraginv.labels.queries.stocks import stocks_in_use
from fraginv.labels.rules.words import PALYTOXIN
from tests.factories import make_colony, make_frags, make_lot, make_rack, make_variety

THAT_DAY = datetime(2026, 11, 12, 17, tzinfo=UTC)


def label_of(code: str) -> tuple[str, str, str, bool]:
    """Return what the label of one code says."""
    (label,) = labels_for([Code.objects.get(pk=code)])
    assert label.code == code
    return label.title, label.detail, label.caution, label.to_write_on


def test_a_frag_tells_variety_and_cut_date(grower: Person) -> None:
    with clock.at(THAT_DAY):
        colony = make_colony(grower, variety=make_variety(grower, name="Harbour Lantern"))
        (frag,) = make_frags(grower, 1, colony=colony)
    assert label_of(frag.code_id) == ("Harbour Lantern", "Cut Nov 12, 2026", "", False)


def test_a_lot_tells_its_number_too(grower: Person) -> None:
    with clock.at(THAT_DAY):
        lot = make_lot(grower, 30)
    assert label_of(lot.code_id)[1] == "Cut Nov 12, 2026 · 30 pieces"


def test_a_zoanthid_carries_the_caution(grower: Person) -> None:
    # Palythoa and Zoanthus carry palytoxin: CDC MMWR 2015;64(31):852-855.
    for genus in ("Palythoa", "Zoanthus"):
        colony = make_colony(grower, variety=make_variety(grower, genus=genus))
        (frag,) = make_frags(grower, 1, colony=colony)
        assert label_of(frag.code_id)[2] == PALYTOXIN
        assert label_of(colony.code_id)[2] == PALYTOXIN
    (other,) = make_frags(grower, 1)
    assert label_of(other.code_id)[2] == ""


def test_a_colony_tells_since_when(grower: Person) -> None:
    variety = make_variety(grower, name="Harbour Lantern")
    colony = make_colony(grower, variety=variety, acquired_on=date(2025, 3, 1))
    assert label_of(colony.code_id)[:2] == ("Harbour Lantern", "Colony since Mar 1, 2025")


def test_a_rack_tells_where_it_is(grower: Person) -> None:
    rack = make_rack(grower, name="Rack 3", rows=6, columns=10)
    title, detail, *_ = label_of(rack.code_id)
    assert title == "A, Rack 3"
    assert detail == "Display · 6 × 10 holes"


def test_a_blank_one_has_a_line_to_write_on(organisation: Organisation) -> None:
    codes = issue_blank_run(3)
    title, detail, caution, to_write_on = label_of(codes[1].pk)
    assert (title, caution, to_write_on) == ("", "", True)
    assert detail == f"Roll {codes[1].run}, no. 2"


def test_labels_keep_the_order_of_the_codes(grower: Person) -> None:
    rack = make_rack(grower)
    frags = make_frags(grower, 3)
    texts = [frags[2].code_id, rack.code_id, frags[0].code_id, frags[2].code_id]
    assert [label.code for label in labels_for(codes_to_print(texts))] == texts


@pytest.mark.parametrize("count", [1, 10])
def test_labels_need_few_queries_however_many(
    grower: Person, count: int, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    codes = [frag.code_id for frag in make_frags(grower, count)]
    codes += [make_colony(grower).code_id for _ in range(count)]
    codes += [make_rack(grower).code_id for _ in range(count)]
    codes += [code.pk for code in issue_blank_run(count)]
    run = start_run(codes, by=grower)
    with django_assert_max_num_queries(6):
        run_pdf(run)


def test_the_codes_of_a_cutting_come_in_the_order_of_the_bench(grower: Person) -> None:
    frags = make_frags(grower, 4)
    make_frags(grower, 1)
    assert frags[0].cutting_id is not None
    assert codes_of_cutting(frags[0].cutting_id) == [frag.code_id for frag in frags]


def test_what_is_not_there_is_said(organisation: Organisation) -> None:
    with pytest.raises(NotFound, match="no such cutting"):
        codes_of_cutting(99)
    with pytest.raises(NotFound, match="no such print run"):
        get_run(99)


def test_the_page_says_what_the_host_gives(organisation: Organisation) -> None:
    stocks = stocks_in_use()
    told = what_host_gives(stocks)
    wanted = "16.9 mm wide, reads from about 15 cm; photographs can be measured by it"
    assert [text for _, text in told] == [wanted] * 2
    organisation.label_host = "no host"
    organisation.save(update_fields=["label_host"])
    assert all("is no address for labels" in text for _, text in what_host_gives(stocks))


def test_the_latest_runs_come_first(grower: Person) -> None:
    made = [start_run((), blank=1, by=grower).pk for _ in range(12)]
    assert [run.pk for run in latest_runs()] == made[:1:-1]
