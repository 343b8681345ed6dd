"""Which index leads where lists of frags are narrowed, as the head of ``frag_parts`` says.

SQLite documentation, "EXPLAIN QUERY PLAN": the index that is used is named. PostgreSQL
chooses by how many rows there are, of which a test has few; there no table that grows may
be read whole.
"""

import re

import pytest
from django.db import connection

from fraginv.base.models import Person
from fraginv.base.queries.looking import Looked, look
from fraginv.front.queries import frag_parts
from fraginv.front.queries.candidates import candidates
from fraginv.front.queries.cutting_lists import cutting_list
from fraginv.front.queries.frag_lists import frag_list
from fraginv.front.queries.rows import listed
from fraginv.front.queries.today import today_page
from fraginv.front.rules.cutting_filters import CuttingFilter
from fraginv.front.rules.frag_filters import FragFilter
from fraginv.stock.models import Frag, StopSale
from fraginv.stock.models.frags import LIVES
from fraginv.stock.queries.stops import STOPPED, touched_by
from tests.factories import make_frags, make_rack
from tests.front.test_plans import asked, plan_of, read_whole

LEADS: dict[str, tuple[FragFilter, str]] = {
    "trough": (FragFilter(trough=1, size="M"), "frag_living_rack"),
    "colony": (FragFilter(colony="COLONY", apart="no"), "frag_living_colony"),
    "variety": (FragFilter(variety=1, size="M"), "frag_living_variety"),
    "variety at a stage": (FragFilter(variety=1, stage="sold"), "frag_variety_stage"),
    "problem": (FragFilter(wrong="pest", size="M"), "frag_wrong"),
    "apart": (FragFilter(apart="yes", stage="ready"), "frag_apart"),
    "quarantined": (FragFilter(quarantined="yes", size="M"), "frag_quarantined"),
    "held": (FragFilter(held="yes", stage="ready"), "frag_held"),
    "kept back": (FragFilter(kept="yes", size="M"), "frag_kept_back"),
    "size": (FragFilter(size="L", stage="growing"), "frag_living_size"),
    "age": (FragFilter(age_from=3, age_to=90), "frag_living_cut"),
    "age at a stage": (FragFilter(stage="sold", age_from=3, age_to=9), "frag_stage_cut"),
    "group": (FragFilter(group="SPS", kept="no"), "frag_living_variety"),
}


@pytest.fixture
def frags(grower: Person) -> list[Frag]:
    """A few frags in a rack, so that what is asked for is there."""
    return make_frags(grower, 3, ready=True, rack=make_rack(grower))


def with_ids(wanted: FragFilter, frag: Frag) -> FragFilter:
    """Return the filter with the ids and codes that the database has given."""
    assert frag.rack is not None
    assert frag.colony is not None
    there = {"trough": frag.rack.trough_id, "colony": frag.colony.code_id}
    there |= {"variety": frag.variety_id}
    changed = {name: there[name] for name in there if getattr(wanted, name)}
    return FragFilter(**{**vars(wanted), **changed})


@pytest.mark.parametrize("name", LEADS)
def test_the_most_telling_index_leads(frags: list[Frag], name: str) -> None:
    wanted, index = LEADS[name]
    plans = [plan_of(sql) for sql in asked(lambda: frag_list(with_ids(wanted, frags[0])))]
    assert not [plan for plan in plans if read_whole(plan)]
    if connection.vendor == "sqlite":
        assert re.search(rf"USING INDEX {index}\b", plans[-1])


@pytest.mark.parametrize(
    ("wanted", "index"),
    [
        (CuttingFilter(lot="no"), "cutting_day"),
        (CuttingFilter(variety=1, lost="no"), "cutting_of_colony"),
        (CuttingFilter(by=1), "cutting_of_person"),
    ],
)
def test_an_index_of_cuttings_leads(frags: list[Frag], wanted: CuttingFilter, index: str) -> None:
    there = {"variety": frags[0].variety_id, "by": Frag.objects.get(pk=frags[0].pk).cutting.by_id}  # type: ignore[union-attr]
    changed = {name: there[name] for name in there if getattr(wanted, name)}
    plans = [
        plan_of(sql)
        for sql in asked(lambda: cutting_list(CuttingFilter(**{**vars(wanted), **changed})))
    ]
    assert not [plan for plan in plans if read_whole(plan)]
    if connection.vendor == "sqlite":
        assert re.search(rf"USING INDEX {index}\b", plans[-1])


def test_as_far_as_the_bound_rows_are_found_by_the_keys_of_one_index(frags: list[Frag]) -> None:
    parts = frag_parts.plan_of(FragFilter(stage="ready", held="no")).parts
    found: list[Looked[Frag]] = []

    def ask() -> None:
        found.append(look(listed(), parts=parts, order=["-pk"], size=9, after=None, bound=1))

    plan = plan_of(asked(ask)[-1], in_order=True)
    newest = sorted((frag.pk for frag in frags), reverse=True)
    assert [frag.pk for frag in found[0].rows] == newest[:2]
    assert (found[0].after, found[0].partly) == (newest[1], True)
    if connection.vendor == "postgresql":
        assert re.search(r"Index Scan.* using stock_frag_pkey on stock_frag\b", plan)
        # Which index gives the keys is for the statistics, of which few rows have none.
        by_keys = r"InitPlan \d+\n\s+->\s+Index (Only )?Scan( Backward)? using \w+ on stock_frag"
        assert re.search(by_keys, plan)
    else:
        assert re.search(r"USING INDEX frag_stage\b", plan)


def test_a_page_of_what_is_likely_ready_begins_at_its_place(frags: list[Frag]) -> None:
    sql = asked(lambda: candidates(after="2026-01-01.1"))[-1]
    assert re.search(r"\"likely_on\" >= '2026-01-01'", sql)


def test_whether_a_stop_sale_holds_is_asked_by_keys_alone(frags: list[Frag]) -> None:
    sql = str(Frag.objects.annotate(stopped=STOPPED).query)
    assert 'FROM "stock_trough"' in sql
    assert "JOIN" not in sql


def test_what_is_looked_at_first_is_read_in_its_own_order(frags: list[Frag]) -> None:
    ready, *first_page = [asked(candidates)[-1], *asked(today_page)]
    plans = [plan_of(ready), *map(plan_of, first_page)]
    if connection.vendor == "sqlite":
        assert re.search(r"USING INDEX frag_likely_on \(likely_on<\?\)", plans[0])
        for index in ("frag_likely_on", "frag_healing_by"):
            assert [plan for plan in plans[1:] if f"USING INDEX {index} " in plan]
    assert not [plan for plan in plans if re.search(r"frag_stage_cut|frag_living_age", plan)]


def test_what_a_stop_sale_of_a_genus_touches_is_found_by_its_varieties(frags: list[Frag]) -> None:
    genus = frags[0].variety.genus_id
    touched = Frag.objects.filter(LIVES & touched_by(StopSale(genus_id=genus))).order_by("pk")
    assert [frag.pk for frag in touched] == [frag.pk for frag in frags]
    sql = asked(lambda: list(touched.order_by()))[-1]
    plan = plan_of(sql)
    assert not read_whole(plan)
    if connection.vendor == "postgresql":
        assert re.search(r'"variety_id"\)? = ANY\(ARRAY\(', sql)
    else:
        assert re.search(r"frag_living_variety|frag_variety_stage|stock_frag_variety_id", plan)
