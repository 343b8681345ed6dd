"""Nothing comes to stand in a rack that is taken away, carried or made smaller at that moment."""

from collections.abc import Callable
from functools import partial
from threading import Event

import pytest
from django.db import connection

from fraginv.base.errors import FraginvError
from fraginv.base.models import Person
from fraginv.base.tables import read_table
from fraginv.stock.actions import arranging, catalogue, loaded, moving, racks
from fraginv.stock.actions.rack_locks import lock_rack, lock_racks
from fraginv.stock.loading import colonies as colony_table
from fraginv.stock.loading import frags as frag_table
from fraginv.stock.models import Colony, Frag, Rack, Trough
from fraginv.stock.queries.differences import stock_differences
from tests.factories import make_frag, make_frags, make_rack, make_variety
from tests.refusing import refused
from tests.together import together

pytestmark = pytest.mark.django_db(transaction=True)
# So long somebody holds a rack while another one comes for it, in seconds.
LONG = 0.7
Act = Callable[[], object]


def one_in_the_other(
    first: Act, second: Act, *, module: object, halt: str, monkeypatch: pytest.MonkeyPatch
) -> list[str]:
    """Begin one act, halt it once it has looked and before it writes, and do the other meanwhile.

    Args: ``halt`` is the name in a module that the first act calls at that moment.
    Returns: what each was told, in their order; nothing for what was done.
    """
    looked, done, goes_on = Event(), Event(), getattr(module, halt)

    def halted(*args: object, **kwargs: object) -> object:
        if not looked.is_set():
            looked.set()
            done.wait(LONG)
        return goes_on(*args, **kwargs)

    def later() -> None:
        looked.wait(10)
        try:
            second()
        finally:
            done.set()

    monkeypatch.setattr(module, halt, halted)
    came = together(lambda act: act(), on=[first, later])
    assert looked.is_set()
    return [one.message if isinstance(one, FraginvError) else "" for one in came]


@pytest.fixture
def rack(grower: Person) -> Rack:
    return make_rack(grower, rows=6, columns=6)


def placing(grower: Person, rack: Rack) -> tuple[Frag, Act]:
    frag = make_frag(grower)
    return frag, lambda: moving.move_frag(frag.pk, rack=rack, row=6, column=6, by=grower)


def away(grower: Person, rack: Rack) -> dict[str, tuple[Act, str]]:
    """Return what else can be done to the rack, and what is said once something stands there."""
    quarantine = make_rack(grower, quarantine=True).trough

    def smaller() -> None:
        arranging.change_rack(rack.pk, name=rack.name, rows=2, columns=2, by=grower)

    return {
        "withdrawn": (
            lambda: arranging.withdraw_rack(rack.pk, by=grower),
            "holds 1 frags and 0 colonies",
        ),
        "carried": (
            lambda: racks.move_rack(rack.pk, trough=quarantine, by=grower),
            "holds 1 frags and 0 colonies",
        ),
        "smaller": (smaller, "Something stands in row 6 or column 6"),
    }


WAYS = ["withdrawn", "carried", "smaller"]


@pytest.mark.parametrize("way", WAYS)
def test_a_rack_waits_for_what_is_put_into_it(
    grower: Person, rack: Rack, way: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    frag, put = placing(grower, rack)
    act, said = away(grower, rack)[way]
    told = one_in_the_other(put, act, module=moving, halt="change", monkeypatch=monkeypatch)
    assert told[0] == ""
    assert said in told[1]
    now = Frag.objects.select_related("rack__trough__system").get(pk=frag.pk)
    assert now.rack is not None
    assert (now.rack.rows, now.rack.withdrawn_on) == (6, None)
    assert not now.rack.trough.system.quarantine
    assert list(stock_differences()) == []


@pytest.mark.parametrize(
    ("way", "module", "said"),
    [
        ("withdrawn", arranging, "is out of use"),
        ("carried", racks, "is quarantine"),
        ("smaller", arranging, "has 2 rows and 2 columns"),
    ],
)
def test_what_is_put_into_a_rack_waits_for_it(
    grower: Person,
    rack: Rack,
    way: str,
    module: object,
    said: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The rack was read, by whoever puts something there, before it was taken away."""
    frag, put = placing(grower, rack)
    act, _ = away(grower, rack)[way]
    told = one_in_the_other(act, put, module=module, halt="rewrite_words", monkeypatch=monkeypatch)
    assert told[0] == ""
    assert said in told[1]
    assert Frag.objects.get(pk=frag.pk).rack is None
    assert list(stock_differences()) == []


def test_a_lot_of_frags_waits_too(
    grower: Person, rack: Rack, monkeypatch: pytest.MonkeyPatch
) -> None:
    frags = [frag.pk for frag in make_frags(grower, 3)]
    act, _ = away(grower, rack)["withdrawn"]
    told = one_in_the_other(
        act,
        lambda: moving.fill_holes(frags, rack=rack, by=grower),
        module=arranging,
        halt="rewrite_words",
        monkeypatch=monkeypatch,
    )
    assert told[0] == ""
    assert "is out of use" in told[1]


def test_racks_that_change_places_with_each_other_never_wait_in_a_circle(grower: Person) -> None:
    here, there = make_rack(grower), make_rack(grower)
    one, other = make_frags(grower, 2)
    for frag, rack in ((one, here), (other, there)):
        moving.move_frag(frag.pk, rack=rack, row=1, column=1, by=grower)
    for _ in range(5):
        came = together(
            lambda pair: moving.move_frag(
                pair[0].pk, rack=pair[1], row=1, column=1, other="swap", by=grower
            ),
            on=[(one, there), (other, here)],
        )
        assert any(not isinstance(one, FraginvError) for one in came)
        held = set(Frag.objects.values_list("rack", "hole_row", "hole_column"))
        assert held == {(here.pk, 1, 1), (there.pk, 1, 1)} or None in {row for _, row, _ in held}
        assert list(stock_differences()) == []


def bring_frag(by: Person, name: str) -> None:
    table = f"variety,rack,row,column\nPier Moss,{name},6,6\n"
    frag_table.load(read_table(table.encode(), columns=frag_table.columns()), by=by)


def bring_colony(by: Person, name: str) -> None:
    table = f"variety,origin,acquired_on,rack\nPier Moss,bought,2025-04-12,{name}\n"
    colony_table.load(read_table(table.encode(), columns=colony_table.columns()), by=by)


TABLES = {"frags": bring_frag, "colonies": bring_colony}


def assert_all_stand_where_they_can() -> None:
    for frag in Frag.objects.select_related("rack__trough__system"):
        assert frag.rack is not None
        assert (frag.rack.rows, frag.rack.withdrawn_on) == (6, None)
        assert frag.quarantined == frag.rack.trough.system.quarantine
    for colony in Colony.objects.select_related("rack"):
        assert colony.rack is not None
        assert colony.rack.withdrawn_on is None
    assert list(stock_differences()) == []


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("way", WAYS)
def test_a_table_waits_for_the_racks_that_it_names(
    grower: Person, rack: Rack, way: str, table: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On PostgreSQL it was read before the rack was changed; on SQLite the one waits as a whole."""
    make_variety(grower, name="Pier Moss", genus="Zoanthus")
    act, _ = away(grower, rack)[way]
    told = one_in_the_other(
        act,
        partial(TABLES[table], grower, "rack 1"),
        module=racks if way == "carried" else arranging,
        halt="rewrite_words",
        monkeypatch=monkeypatch,
    )
    assert told[0] == ""
    if connection.vendor == "postgresql":
        assert told[1].startswith("Rack A, rack 1 was changed while the table was read.")
        assert not Frag.objects.exists()
        assert not Colony.objects.exists()
    assert_all_stand_where_they_can()


@pytest.mark.parametrize(("table", "writes"), [("frags", "frag_of"), ("colonies", "parties_named")])
@pytest.mark.parametrize("way", WAYS)
def test_a_rack_waits_for_a_table_that_names_it(
    grower: Person, rack: Rack, way: str, table: str, writes: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_variety(grower, name="Pier Moss", genus="Zoanthus")
    told = one_in_the_other(
        partial(TABLES[table], grower, "rack 1"),
        away(grower, rack)[way][0],
        module=loaded,
        halt=writes,
        monkeypatch=monkeypatch,
    )
    assert told[0] == ""
    assert (told[1] == "") == ((way, table) == ("smaller", "colonies"))
    assert Frag.objects.count() + Colony.objects.count() == 1
    assert_all_stand_where_they_can()


def test_no_rack_is_carried_into_a_trough_that_goes(
    grower: Person, rack: Rack, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Neither the one nor the other is first: whoever comes second is told."""
    for begins_with_the_rack in (True, False):
        name = f"B{begins_with_the_rack}"
        trough = catalogue.add_trough(rack.trough.system, name=name, by=grower)
        acts: list[tuple[Act, object]] = [
            (partial(racks.move_rack, rack.pk, trough=trough, by=grower), racks),
            (partial(arranging.withdraw_trough, trough.pk, by=grower), arranging),
        ]
        (first, module), (second, _) = acts if begins_with_the_rack else acts[::-1]
        with monkeypatch.context() as patched:
            told = one_in_the_other(
                first, second, module=module, halt="rewrite_words", monkeypatch=patched
            )
        said = f"Racks stand in {name}" if begins_with_the_rack else "This trough is out of use"
        assert told[0] == ""
        assert said in told[1]
        assert Rack.objects.get(pk=rack.pk).trough.withdrawn_on is None


def test_no_place_is_added_to_one_that_goes(
    grower: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Neither the one nor the other is first: whoever comes second is told."""
    for begins_with_the_new in (True, False):
        system = catalogue.add_system(f"S{begins_with_the_new}", by=grower)
        holder = catalogue.add_trough(
            catalogue.add_system(f"T{begins_with_the_new}", by=grower), name="A", by=grower
        )
        pairs: list[tuple[Act, Act, str, str]] = [
            (
                partial(catalogue.add_trough, system, name="New", by=grower),
                partial(arranging.withdraw_system, system.pk, by=grower),
                "has troughs",
                "This system is out of use",
            ),
            (
                partial(catalogue.add_rack, holder, name="new", rows=2, columns=2, by=grower),
                partial(arranging.withdraw_trough, holder.pk, by=grower),
                "Racks stand in A",
                "This trough is out of use",
            ),
        ]
        for adds, withdraws, full, gone in pairs:
            acts: list[tuple[Act, object, str]] = [
                (adds, catalogue, "write_words"),
                (withdraws, arranging, "rewrite_words"),
            ]
            (first, module, halt), (second, *_) = acts if begins_with_the_new else acts[::-1]
            with monkeypatch.context() as patched:
                told = one_in_the_other(
                    first, second, module=module, halt=halt, monkeypatch=patched
                )
            assert told[0] == ""
            assert (full if begins_with_the_new else gone) in told[1]
    assert not Trough.objects.exclude(system__withdrawn_on=None).exists()
    assert not Rack.objects.exclude(trough__withdrawn_on=None).exists()


def test_a_rack_that_is_none(grower: Person) -> None:
    assert lock_racks([]) == lock_racks([None]) == {}
    with refused("There is no such rack"):
        lock_rack(999)
