"""Systems, troughs and racks are found by how the words of their names begin."""

from collections.abc import Callable

import pytest

from fraginv.base.actions.words import rewrite_words
from fraginv.base.models import Person, Word
from fraginv.stock.actions.catalogue import add_rack, add_system, add_trough
from fraginv.stock.models import Rack, Trough
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


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("rack 12", {"Window, rack 12", "Cellar, rack 12"}),
        ("window 2", {"Window, rack 2", "Window, rack 20"}),
        ("WIN rack 11", {"Window, rack 11"}),
        ("hosp", {"Left, rack 1"}),
        ("hospital rack 12", set()),
        ("indow", set()),
        ("", set()),
    ],
)
def test_racks(racks: list[Rack], text: str, found: set[str]) -> None:
    assert {str(rack) for rack in places.racks_like(text)} == found


@pytest.mark.parametrize(
    ("ask", "text", "found"),
    [
        (places.troughs_like, "display", {"Window", "Cellar"}),
        (places.troughs_like, "cel", {"Cellar"}),
        (places.systems_like, "water", {"Display water"}),
        (places.systems_like, "window", set()),
    ],
)
def test_waters(
    racks: list[Rack], ask: Callable[[str], "list[Trough]"], text: str, found: set[str]
) -> None:
    assert {place.name for place in ask(text)} == found


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
    assert places.racks_like("north").count() == 6
    assert not places.racks_like("window")
