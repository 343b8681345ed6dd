"""Quarantine water, holes that hold one frag, and what verify says of cuttings."""

import pytest
from django.db import IntegrityError, connection, transaction

from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.stock.actions.aside import quarantine_frags, release_frags, set_apart
from fraginv.stock.actions.claims import take_back, take_for_sale
from fraginv.stock.actions.cuttings import cut_colony
from fraginv.stock.actions.moving import place_frags
from fraginv.stock.models import Cutting, Frag, FragEvent
from fraginv.stock.queries.differences import stock_differences
from fraginv.stock.queries.frags import saleable_frags
from tests.factories import make_colony, make_frag, make_frags, make_rack
from tests.refusing import refused


def test_quarantine_water_and_the_displays_stay_apart(grower: Person, manager: Person) -> None:
    display, quarantine = make_rack(grower), make_rack(grower, quarantine=True)
    frag = make_frag(grower, ready=True)
    with pytest.raises(Conflict, match="is quarantine. To put"):
        place_frags([frag.pk], rack=quarantine, by=grower)
    quarantine_frags([frag.pk], rack=quarantine, by=grower)
    with pytest.raises(Conflict, match="Release it before"):
        place_frags([frag.pk], rack=display, by=grower)
    release_frags([frag.pk], by=manager, despite="Cleared by the vet.")
    frag.refresh_from_db()
    assert (frag.rack, frag.quarantined) == (None, False)
    place_frags([frag.pk], rack=display, by=grower)
    assert saleable_frags().filter(pk=frag.pk).exists()
    assert not list(stock_differences())


def test_new_frags_do_not_go_straight_into_quarantine(grower: Person) -> None:
    colony, quarantine = make_colony(grower), make_rack(grower, quarantine=True)
    with refused("without a rack", error=Conflict):
        cut_colony(colony.pk, pieces=2, rack=quarantine, by=grower)
    assert not Cutting.objects.exists()


def test_only_what_is_apart_or_in_quarantine_is_released(grower: Person) -> None:
    frag = make_frag(grower)
    with pytest.raises(Conflict, match="neither apart nor in quarantine"):
        release_frags([frag.pk], by=grower)
    set_apart([frag.pk], by=grower)
    release_frags([frag.pk], by=grower)
    assert FragEvent.objects.filter(frag=frag, kind="released").count() == 1


def test_one_hole_holds_one_frag(grower: Person) -> None:
    rack = make_rack(grower)
    first, second = make_frags(grower, 2)
    with pytest.raises(InputError, match="One hole holds one frag"):
        place_frags([first.pk, second.pk], rack=rack, row=2, column=2, by=grower)
    place_frags([first.pk], rack=rack, row=2, column=2, by=grower)
    place_frags([first.pk], rack=rack, row=2, column=2, by=grower)
    with pytest.raises(Conflict, match=r"stands in row 2, column 2 of .* Move it first"):
        place_frags([second.pk], rack=rack, row=2, column=2, by=grower)
    with pytest.raises(IntegrityError), transaction.atomic():
        Frag.objects.filter(pk=second.pk).update(rack=rack, hole_row=2, hole_column=2)


@pytest.mark.parametrize(("row", "column"), [(0, 1), (7, 1), (1, 11), (-1, 2), (1, None)])
def test_holes_outside_the_grid(grower: Person, row: int, column: int | None) -> None:
    rack = make_rack(grower, rows=6, columns=10)
    with pytest.raises(InputError, match="6 rows and 10 columns"):
        place_frags([make_frag(grower).pk], rack=rack, row=row, column=column, by=grower)


def test_what_comes_back_alive_stands_in_no_known_hole(grower: Person) -> None:
    rack = make_rack(grower)
    first, second = make_frags(grower, 2, ready=True)
    place_frags([first.pk], rack=rack, row=1, column=1, by=grower)
    sale = take_for_sale(first.pk, pieces=1, by=grower)
    place_frags([second.pk], rack=rack, row=1, column=1, by=grower)
    take_back(sale.pk, pieces=1, alive=True, by=grower)
    first.refresh_from_db()
    assert (first.rack, first.hole_row, first.stage) == (None, None, "ready")
    assert not list(stock_differences())


FAULTS = {
    "month of an event": (
        "UPDATE stock_fragevent SET month = 202001 WHERE frag_id = %s AND seq = 1",
        "event 1 (cut) was changed",
    ),
    "body that is a list": (
        "UPDATE stock_fragevent SET body = '[]' WHERE frag_id = %s AND seq = 1",
        "cannot be followed",
    ),
    "day of cutting on the frag": (
        "UPDATE stock_frag SET cut_on = '2020-01-01' WHERE id = %s",
        "not as cutting",
    ),
    "pieces of the cutting": (
        "UPDATE stock_cutting SET pieces = 9 WHERE id = (SELECT cutting_id FROM stock_frag"
        " WHERE id = %s)",
        "9 pieces, its frags' events say 2",
    ),
    "month of the cutting": (
        "UPDATE stock_cutting SET month = 202001 WHERE id = (SELECT cutting_id FROM stock_frag"
        " WHERE id = %s)",
        "its month 202001",
    ),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_verify_names_a_planted_fault(grower: Person, fault: str) -> None:
    frag = make_frags(grower, 2)[0]
    assert not list(stock_differences())
    sql, says = FAULTS[fault]
    with connection.cursor() as cursor:
        cursor.execute(sql, [frag.pk])
    assert any(says in str(one) for one in stock_differences())
