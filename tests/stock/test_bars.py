"""Bars: set, inherited by all that descends, lifted."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest_django import DjangoAssertNumQueries

from fraginv.base.actions.founding import add_party
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.stock.actions.bars import bar_colony, lift_bar
from fraginv.stock.actions.claims import hold_frag, take_for_sale
from fraginv.stock.actions.cuttings import cut_colony
from fraginv.stock.actions.leaving import give_colony, offer_whole
from fraginv.stock.actions.mothers import keep_as_colony
from fraginv.stock.models import Bar, Colony, ColonyEvent, Frag
from fraginv.stock.queries.bars import bar_differences, bars_over, held_under
from fraginv.stock.queries.lineage import line_below
from fraginv.stock.rules.colonies import effective_bars
from fraginv.stock.rules.holds import ClaimKind
from tests.conftest import People
from tests.factories import make_colony, make_frag
from tests.refusing import refused
from tests.together import together


def because(colony: Colony) -> str:
    """Return why a colony is barred now."""
    return Colony.objects.get(pk=colony.pk).barred_because


@pytest.fixture
def line(grower: Person) -> list[Colony]:
    """A mother, a daughter and a granddaughter, each kept from a frag of the one before."""
    found = [make_colony(grower)]
    for _ in range(2):
        found.append(keep_as_colony(make_frag(grower, colony=found[-1]).pk, by=grower))
    return found


def test_all_that_descends_inherits_a_bar_and_is_free_again(
    grower: Person, people: People, line: list[Colony]
) -> None:
    bar = bar_colony(line[0], kind="loan", because=" on loan  until spring ", by=grower)
    assert [because(one) for one in line] == ["on loan until spring"] * 3
    late = keep_as_colony(make_frag_of(line[2]).pk, by=grower)
    assert because(late) == "on loan until spring"
    assert [found.pk for found in bars_over(late)] == [bar.pk]
    assert not list(bar_differences())
    lift_bar(bar.pk, because="returned the papers", by=people[Role.OWNER])
    assert [because(one) for one in [*line, late]] == [""] * 4
    told = ColonyEvent.objects.filter(colony=line[0]).values_list("kind", flat=True)
    assert list(told)[-2:] == ["barred", "lifted"]


def make_frag_of(colony: Colony) -> Frag:
    """Return a living frag of a colony that may be barred by now."""
    Colony.objects.filter(pk=colony.pk).update(barred_because="")
    frag = make_frag(Person.objects.filter(role=Role.GROWER).get(), colony=colony)
    Colony.objects.filter(pk=colony.pk).update(barred_because="on loan until spring")
    return frag


def test_a_colony_under_two_bars_stays_barred(grower: Person, line: list[Colony]) -> None:
    first = bar_colony(line[0], because="held for the customs", by=grower)
    second = bar_colony(line[1], kind="research", because="a study", by=grower)
    assert [because(one) for one in line] == ["held for the customs", "a study", "a study"]
    lift_bar(second.pk, because="the study ended", by=grower)
    assert because(line[2]) == "held for the customs"
    lift_bar(first.pk, because="released", by=grower)
    assert because(line[2]) == ""
    assert not list(bar_differences())


def test_what_a_bar_forbids(grower: Person, seller: Person) -> None:
    frag = make_frag(grower, ready=True)
    held = hold_frag(frag.pk, pieces=1, kind=ClaimKind.NAMED, by=seller, for_name="Ines Varga")
    colony = frag.colony
    assert colony is not None
    bar = bar_colony(colony, because="held for an authority", by=grower)
    assert held_under([colony.pk]) == 1
    with refused("barred from cutting", error=Conflict):
        cut_colony(colony.pk, pieces=1, by=grower)
    with refused("its colony is barred", error=Conflict):
        take_for_sale(frag.pk, pieces=1, by=seller, hold_id=held.pk)
    with refused("barred from sale and giving", error=Conflict):
        offer_whole(colony.pk, by=grower)
    with refused("barred from sale and giving", error=Conflict):
        give_colony(colony.pk, to=add_party("Orla Finch"), by=grower)
    lift_bar(bar.pk, because="released", by=grower)
    assert take_for_sale(frag.pk, pieces=1, by=seller, hold_id=held.pk).pieces == 1


@pytest.mark.parametrize(
    ("fields", "said"),
    [({"because": " "}, "why the colony is barred"), ({"kind": "whim"}, "'whim' is no kind")],
)
def test_bars_that_cannot_be(grower: Person, fields: dict[str, str], said: str) -> None:
    colony = make_colony(grower)
    with refused(said, error=InputError):
        bar_colony(colony, by=grower, **({"because": "a reason"} | fields))
    assert not Bar.objects.exists()


def test_a_second_bar_of_its_own_and_a_second_lifting_are_refused(grower: Person) -> None:
    colony = make_colony(grower)
    bar = bar_colony(colony, because="on loan", by=grower)
    with refused("a bar of its own already", error=Conflict):
        bar_colony(colony, because="research", by=grower)
    with refused("why the bar is lifted", error=InputError):
        lift_bar(bar.pk, because="", by=grower)
    lift_bar(bar.pk, because="back", by=grower)
    with refused("was lifted already", error=Conflict):
        lift_bar(bar.pk, because="back", by=grower)


def test_a_bar_that_no_row_says_is_found(grower: Person, line: list[Colony]) -> None:
    assert not list(bar_differences())
    Colony.objects.filter(pk=line[2].pk).update(barred_because="whim")
    Colony.objects.filter(pk=line[1].pk).update(mother=None)
    found = [difference.what for difference in bar_differences()]
    assert "barred because 'whim', bars say 'no bar'" in found
    assert f"its mother is None, its frag's is {line[0].pk}" in found


def test_statements_do_not_grow_with_the_line(
    grower: Person, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    mother = make_colony(grower)
    for _ in range(12):
        Colony.objects.filter(pk=make_colony(grower).pk).update(mother=mother)
    with django_assert_max_num_queries(10):
        bar = bar_colony(mother, because="on loan", by=grower)
    assert len(line_below(mother.pk)) == 13
    assert Colony.objects.filter(barred_because="on loan").count() == 13
    with django_assert_max_num_queries(11):
        lift_bar(bar.pk, because="back", by=grower)


def test_keeping_and_barring_at_once_leave_no_gap(transactional_db: None, people: People) -> None:
    grower = people[Role.GROWER]
    mother = make_colony(grower)
    middle = keep_as_colony(make_frag(grower, colony=mother).pk, by=grower)
    frags = [make_frag(grower, colony=middle) for _ in range(4)]

    def work(frag: Frag | None) -> object:
        if frag is None:
            return bar_colony(mother, because="on loan", by=grower)
        return keep_as_colony(frag.pk, by=grower)

    came = together(work, on=[*frags[:2], None, *frags[2:]])
    assert not [one for one in came if isinstance(one, Exception)]
    assert Colony.objects.filter(mother=middle, barred_because="on loan").count() == 4
    assert not list(bar_differences())


@given(st.lists(st.tuples(st.integers(0, 30), st.booleans()), min_size=1, max_size=30))
def test_a_colony_is_barred_exactly_if_one_above_is(made: list[tuple[int, bool]]) -> None:
    mothers = {n: None if n == 0 else made[n][0] % n for n in range(len(made))}
    own = {n: f"bar {n}" for n, (_, barred) in enumerate(made) if barred}
    found = effective_bars(
        {n + 1: None if m is None else m + 1 for n, m in mothers.items()},
        own={n + 1: said for n, said in own.items()},
        above="",
    )
    for colony in mothers:
        at: int | None = colony
        nearest = ""
        while at is not None and not nearest:
            nearest, at = own.get(at, ""), mothers[at]
        assert found[colony + 1] == nearest
