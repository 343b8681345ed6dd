"""Systems, troughs and racks are found by how the words of their names begin."""

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base.actions.words import rewrite_words
from fraginv.base.models import Person, Word
from fraginv.base.queries.words import first_named_of
from fraginv.stock.actions.catalogue import add_rack, add_system, add_trough
from fraginv.stock.models import Rack, System, Trough
from fraginv.stock.queries import places
from fraginv.stock.queries.differences import place_differences


@pytest.fixture
def racks(grower: Person) -> list[Rack]:
    """Twelve racks in two troughs of one water, and one elsewhere."""
    display = add_system("Display water", by=grower)
    window, cellar = (add_trough(display, name=name, by=grower) for name in ("Window", "Cellar"))
    made = [
        add_rack(trough, name=f"rack {number}", rows=2, columns=3, by=grower)
        for trough in (window, cellar)
        for number in (1, 2, 10, 11, 12, 20)
    ]
    other = add_trough(add_system("Hospital", by=grower, quarantine=True), name="Left", by=grower)
    return [*made, add_rack(other, name="rack 1", rows=1, columns=1, by=grower)]


def named(text: str) -> dict[str, set[str]]:
    """Return the places that a text finds, by kind."""
    ids = first_named_of(text, kinds=[places.SYSTEM, places.TROUGH, places.RACK])
    return {
        "systems": {each.name for each in System.objects.filter(pk__in=ids[places.SYSTEM])},
        "troughs": {each.name for each in Trough.objects.filter(pk__in=ids[places.TROUGH])},
        "racks": {str(each) for each in places.racks().filter(pk__in=ids[places.RACK])},
    }


@pytest.mark.parametrize(
    ("text", "kind", "found"),
    [
        ("rack 12", "racks", {"Window, rack 12", "Cellar, rack 12"}),
        ("window 2", "racks", {"Window, rack 2", "Window, rack 20"}),
        ("WIN rack 11", "racks", {"Window, rack 11"}),
        ("hosp", "racks", {"Left, rack 1"}),
        ("hospital rack 12", "racks", set()),
        ("indow", "racks", set()),
        ("", "racks", set()),
        ("display", "troughs", {"Window", "Cellar"}),
        ("cel", "troughs", {"Cellar"}),
        ("water", "systems", {"Display water"}),
        ("window", "systems", set()),
    ],
)
def test_places_by_name(racks: list[Rack], text: str, kind: str, found: set[str]) -> None:
    assert named(text)[kind] == found


def test_all_kinds_are_looked_up_at_once(
    racks: list[Rack], django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    kinds = [places.SYSTEM, places.TROUGH, places.RACK]
    with django_assert_num_queries(1):
        assert len(first_named_of("display 1", kinds=kinds)[places.RACK]) == 8
    with django_assert_num_queries(0):
        assert first_named_of(" - ", kinds=kinds) == {kind: [] for kind in kinds}


def test_verify_finds_words_that_are_not_the_names(racks: list[Rack]) -> None:
    assert not list(place_differences())
    rack = racks[0]
    Word.objects.filter(kind=places.RACK, thing=rack.pk, word="window").delete()
    Word.objects.create(kind=places.SYSTEM, thing=999, word="ghost")
    told = {(found.where, found.what) for found in place_differences()}
    assert told == {
        (f"rack {rack.pk}", "is not found as it is named: window"),
        ("system 999", "is found by words, and is not there"),
    }


def test_words_follow_a_new_name(racks: list[Rack]) -> None:
    Trough.objects.filter(name="Window").update(name="North wall")
    assert list(place_differences())
    moved = places.racks().filter(trough__name="North wall")
    rewrite_words(places.names_of_racks(moved), kind=places.RACK)
    trough = Trough.objects.select_related("system").filter(name="North wall")
    rewrite_words(places.names_of_troughs(trough), kind=places.TROUGH)
    assert not list(place_differences())
    assert len(named("north")["racks"]) == 6
    assert not named("window")["racks"]
