"""Lists of frags that are narrowed: each page against all rows looked at one by one."""

from collections.abc import Callable, Iterator
from datetime import date, timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base.models import OldCode, Person
from fraginv.base.queries.looking import look
from fraginv.base.queries.organisation import organisation_kept, today
from fraginv.base.rules.old_codes import fold_old_code
from fraginv.base.rules.roles import Role
from fraginv.front.queries.frag_lists import frag_list
from fraginv.front.queries.frag_parts import plan_of
from fraginv.front.queries.frag_table import FRAG_HEADINGS, frag_table
from fraginv.front.queries.rows import listed
from fraginv.front.rules.frag_filters import FragFilter
from fraginv.stock.actions.aside import keep_back, quarantine_frags, set_apart
from fraginv.stock.actions.claims import hold_frag
from fraginv.stock.actions.grading import grade_frags, mark_healed
from fraginv.stock.actions.looks import mark_wrong
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.actions.moving import place_frags
from fraginv.stock.models import Frag, Rack
from fraginv.stock.rules.holds import ClaimKind
from tests.conftest import People
from tests.factories import make_colony, make_frags, make_rack, make_variety

Fits = Callable[[Frag], bool]


@pytest.fixture
def house(people: People) -> Person:
    """Ninety frags of three varieties, of all ages and in all states."""
    grower = people[Role.GROWER]
    racks = [make_rack(grower) for _ in range(3)]
    hospital = make_rack(grower, quarantine=True)
    for number, (name, genus) in enumerate(
        [("Pier Moss", "Zoanthus"), ("Ember", "Acropora"), ("Harbour Ember", "Acropora")]
    ):
        colony = make_colony(grower, variety=make_variety(grower, name=name, genus=genus))
        for age in (3, 40, 90):
            day = today() - timedelta(days=age)
            frags = make_frags(grower, 10, colony=colony, day=day)
            ids = [frag.pk for frag in frags]
            place_frags(ids[:8], rack=racks[number], by=grower)
            vary(ids, by=grower, hospital=hospital, old=age > 3)
    last = Frag.objects.order_by("-pk")[0]
    OldCode.objects.create(code=last.code, text="Old 17X", folded=fold_old_code("Old 17X"))
    return grower


def vary(ids: list[int], *, by: Person, hospital: Rack, old: bool) -> None:
    """Let ten frags of a cutting go different ways."""
    if old:
        grade_frags(ids[:4], size="M", by=by)
        grade_frags(ids[4:6], size="S", by=by)
        mark_healed(ids[6:8], by=by)
        hold_frag(ids[0], pieces=1, kind=ClaimKind.NAMED, by=by, for_name="Ines Varga")
        keep_back(ids[1:2], kept=True, by=by)
    set_apart(ids[2:3], by=by)
    quarantine_frags(ids[7:8], rack=hospital, by=by)
    record_loss(ids[5], pieces=1, cause="fell", by=by)
    mark_wrong(ids[6:7], wrong="pest", by=by)
    mark_wrong(ids[3:4], wrong="algae", by=by)


def lives(frag: Frag) -> bool:
    return frag.pieces > 0


def age_of(frag: Frag, *, day: date) -> int:
    return (day - frag.cut_on).days


def is_for_sale(frag: Frag) -> bool:
    set_aside = frag.apart or frag.quarantined or frag.kept_back
    return frag.stage == "ready" and not set_aside and frag.free > 0


def cases() -> Iterator[tuple[FragFilter, Fits]]:
    """Yield what is asked, and the same written out by hand."""
    yield FragFilter(), lives
    yield FragFilter(stage="ready"), lambda o: o.stage == "ready"
    yield FragFilter(stage="lost", size="S"), lambda o: o.stage == "lost" and o.size == "S"
    yield FragFilter(size="M"), lambda o: lives(o) and o.size == "M"
    yield from of_places()
    yield from of_kinds()
    yield from of_flags()
    yield from of_ages()


def of_places() -> Iterator[tuple[FragFilter, Fits]]:
    rack = Rack.objects.select_related("trough").order_by("pk")[1]
    trough, system = rack.trough_id, rack.trough.system_id

    def stands(frag: Frag) -> bool:
        return frag.rack is not None and frag.rack.trough.system_id == system

    def in_trough(frag: Frag) -> bool:
        return frag.rack is not None and frag.rack.trough_id == trough

    yield FragFilter(rack=rack.code_id), lambda o: lives(o) and o.rack_id == rack.pk
    yield (
        FragFilter(trough=trough, size="S"),
        lambda o: lives(o) and o.size == "S" and in_trough(o),
    )
    yield (
        FragFilter(system=system, stage="healing"),
        lambda o: o.stage == "healing" and stands(o),
    )


def of_kinds() -> Iterator[tuple[FragFilter, Fits]]:
    moss = Frag.objects.select_related("colony").order_by("pk")[0]
    last = Frag.objects.select_related("variety").order_by("-pk")[0]
    assert moss.colony is not None
    kind, genus, code = moss.variety_id, last.variety.genus_id, moss.code_id[:5]
    yield FragFilter(variety=kind), lambda o: lives(o) and o.variety_id == kind
    yield (
        FragFilter(variety=kind, stage="ready", kept="no"),
        lambda o: o.variety_id == kind and o.stage == "ready" and not o.kept_back,
    )
    yield FragFilter(genus=genus), lambda o: lives(o) and o.variety.genus_id == genus
    yield FragFilter(group="zoanthid"), lambda o: lives(o) and o.variety.group == "zoanthid"
    yield FragFilter(group="clam"), lambda o: False
    yield FragFilter(text="ember"), lambda o: lives(o) and "Ember" in o.variety.name
    yield FragFilter(text="ember", group="zoanthid"), lambda o: False
    yield FragFilter(text=code), lambda o: lives(o) and o.code_id.startswith(code)
    yield FragFilter(text="old-17 x"), lambda o: lives(o) and o.pk == last.pk
    yield FragFilter(text="nothing like it"), lambda o: False
    yield (
        FragFilter(colony=moss.colony.code_id),
        lambda o: lives(o) and o.colony_id == moss.colony_id,
    )


def of_flags() -> Iterator[tuple[FragFilter, Fits]]:
    yield FragFilter(held="yes"), lambda o: lives(o) and o.free < o.pieces
    yield FragFilter(held="no", stage="ready"), lambda o: o.stage == "ready" and o.free == o.pieces
    yield FragFilter(apart="yes"), lambda o: lives(o) and o.apart
    yield FragFilter(apart="no", size="M"), lambda o: lives(o) and not o.apart and o.size == "M"
    yield FragFilter(quarantined="yes"), lambda o: lives(o) and o.quarantined
    yield FragFilter(kept="yes"), lambda o: lives(o) and o.kept_back
    yield FragFilter(wrong="any"), lambda o: lives(o) and bool(o.wrong)
    yield FragFilter(wrong="pest"), lambda o: lives(o) and o.wrong == "pest"
    yield FragFilter(wrong="no", apart="no"), lambda o: lives(o) and not o.wrong and not o.apart


def of_ages() -> Iterator[tuple[FragFilter, Fits]]:
    day = today()
    yield FragFilter(age_to=40), lambda o: lives(o) and age_of(o, day=day) <= 40
    yield FragFilter(age_from=40), lambda o: lives(o) and age_of(o, day=day) >= 40
    yield (
        FragFilter(age_from=40, age_to=40, stage="lost"),
        lambda o: o.stage == "lost" and age_of(o, day=day) == 40,
    )
    yield FragFilter(stage="sale"), is_for_sale
    yield FragFilter(stage="sale", age_to=89), lambda o: is_for_sale(o) and age_of(o, day=day) < 90
    yield (
        FragFilter(stage="sale", size="M", group="SPS", age_from=41),
        lambda o: (
            is_for_sale(o)
            and o.variety.group == "SPS"
            and age_of(o, day=day) > 40
            and o.size == "M"
        ),
    )


def in_pages(asked: FragFilter, *, size: int, bound: int) -> list[int]:
    """Go through all pages of a list; return the frags on them."""
    plan = plan_of(asked)
    found: list[int] = []
    after: int | None = None
    for _ in range(200):
        page = look(
            listed(), parts=plan.parts, order=plan.order, size=size, after=after, bound=bound
        )
        assert len(page.rows) <= size
        assert page.is_first is (after is None)
        found += [frag.pk for frag in page.rows]
        after = page.after
        if after is None:
            assert not page.partly
            return found
    raise AssertionError("The list does not end.")


def test_pages_hold_what_fits_and_nothing_else(house: Person) -> None:
    """Each way to look is taken: a bound of two makes all leads long, one of 500 short."""
    frags = list(Frag.objects.select_related("variety", "rack__trough").order_by("-pk"))
    for asked, fits in cases():
        wanted = [frag for frag in frags if fits(frag)]
        if asked.has_age:
            wanted.sort(key=lambda frag: (frag.cut_on, frag.pk), reverse=True)
        for size, bound in ((4, 2), (7, 20), (50, 500)):
            assert in_pages(asked, size=size, bound=bound) == [one.pk for one in wanted], asked
        listed_ids = [row.frag.pk for row in frag_list(asked).rows]
        assert listed_ids == [frag.pk for frag in wanted][:40], asked


def test_cases_are_not_all_empty(house: Person) -> None:
    frags = list(Frag.objects.select_related("variety", "rack__trough"))
    sizes = [sum(map(fits, frags)) for _, fits in cases()]
    assert sum(size > 0 for size in sizes) >= len(sizes) - 3


def test_tables_hold_the_same_rows(house: Person) -> None:
    for asked, fits in cases():
        codes = {str(row[0]).replace("-", "") for row in frag_table(asked)}
        frags = Frag.objects.select_related("variety", "rack__trough")
        assert codes == {frag.code_id for frag in frags if fits(frag)}, asked
    row = next(frag_table(FragFilter(text="ember", held="yes")))
    told = dict(zip(FRAG_HEADINGS, row, strict=True))
    assert (told["stage"], told["pieces"], told["free"], told["held"]) == ("ready", 1, 0, 1)
    assert (told["genus"], told["group"], told["size"]) == ("Acropora", "SPS", "M")
    assert told["age_days"] in {40, 90}


def test_statements_do_not_grow(
    house: Person, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    system = Rack.objects.order_by("pk")[0].trough.system_id
    for asked, most in (
        (FragFilter(stage="ready"), 1),
        (FragFilter(size="M", held="no", wrong="no"), 2),
        (FragFilter(text="ember", size="M"), 3),
        (FragFilter(system=system, group="SPS", apart="no"), 4),
    ):
        with organisation_kept(), django_assert_num_queries(most):
            frag_list(asked)
