"""The grower's pages with 100,000 living and 1,000,000 ended frags, against a tenth of both.

``python -m tests.bench.growing`` adds to the houses what these pages ask for: the events of
two years, all losses, looks at racks, stop-sales that hold, and one rack of forty by forty.
A report sums up a period and a form offers all places, so that these are for reading.
"""

import json
from collections.abc import Iterator
from datetime import timedelta
from itertools import islice
from typing import Any

from tests.bench import compared
from tests.bench.compared import PAGE_GOAL, Bench, Measured
from tests.bench.table import Row
from tests.bench.world import TODAY, World, moment, month, write

MODULE = "tests.bench.growing"
WIDE = 40
PAGES: dict[str, str] = {
    "today": "/",
    "rounds": "/rounds",
    "rounds, at nine tenths": "/rounds?after={far_rack}",
    "trough": "/troughs/{trough}",
    "trough, what is due": "/troughs/{trough}?due=overdue",
    "system": "/systems/1",
    "places": "/stock/places",
    "rack": "/T/{rack}",
    "rack as a list": "/T/{rack}?show=list",
    "rack of 40 by 40": "/T/{wide}",
    "rack of 40 by 40 as a list": "/T/{wide}?show=list",
    "a hole": "/racks/{rack}/holes/6/1",
    "a frag in its rack": "/racks/{rack}/frags/{frag}",
    "count of a rack": "/racks/{rack}/count",
    "more of a rack": "/racks/{rack}/more",
    "bring to a rack": "/racks/{rack}/bring",
    "ready": "/ready",
    "ready, at nine tenths": "/ready?after={likely}",
    "ready in a trough": "/ready?trough={trough}",
    "ready in a rack": "/ready?rack={rack_id}",
    "quarantine": "/quarantine",
    "quarantine, at nine tenths": "/quarantine?after={away}",
    "apart": "/apart",
    "apart, at nine tenths": "/apart?after={apart}",
    "stop-sales": "/stops",
    "stop-sale of a system": "/stops/1",
    "stop-sale of a system, deep": "/stops/1?after={deep}",
    "stop-sale of a trough": "/stops/2",
    "stop-sale of a variety": "/stops/3",
    "stop-sale of a genus": "/stops/4",
    "stop-sale, begun": "/stops/start",
    "losses": "/stock/losses",
    "losses, at nine tenths": "/stock/losses?after={loss}",
    "bench": "/bench",
    "cutting": "/stock/colonies/{colony}/cut",
    "colonies": "/colonies",
    "colony": "/T/{colony}",
    "variety": "/varieties/{variety}",
    "frag": "/T/{frag}",
    "frag, sold": "/T/{sold}",
    "frag, to be lost": "/stock/frags/{frag}/lose",
    "frags, for sale": "/frags?stage=sale",
    "frags, for sale, of a size": "/frags?stage=sale&size=L",
    "scan": "/scan",
    "receive": "/receive",
    "place": "/stock/frags/place?codes={frag}",
}
REPORTS: dict[str, str] = {
    f"losses by {way}": f"/reports/losses?by={way}"
    for way in ("cause", "variety", "colony", "trough", "tool", "cutter")
}
REPORTS |= {
    "losses of ten years": "/reports/losses?first=2016-12-01&last=2026-11-25",
    "survival": "/reports/losses/survival",
}


def build(world: World) -> None:
    """Write a house with what grows in it."""
    from django.db import transaction

    from fraginv.base.models import Person
    from fraginv.stock.models import FragEvent, Loss, RackEvent, StopSale
    from tests.bench.troughs import EVENT_COLUMNS

    compared.build(world)
    by = Person.objects.get().pk
    with transaction.atomic():
        write(FragEvent, f"id {EVENT_COLUMNS}", events(world, by=by))
        loss = "event_id frag_id variety_id colony_id rack_id trough_id pieces cause day month"
        write(Loss, f"{loss} age_days undone", losses(world))
        write(RackEvent, "rack_id seq kind at recorded_at day by_id body", looks(world, by=by))
        stops = "id system_id trough_id variety_id genus_id reason ends_when since by_id made_at"
        write(StopSale, stops, stop_rows(world, by=by))
        write_wide(world)


def events(world: World, *, by: int) -> Iterator[tuple[Any, ...]]:
    """Yield events with their ids: each frag's of two years, and of the others that it was lost."""
    from tests.bench.troughs import event_rows

    first = world.frags * 4 // 5
    for number, row in enumerate(event_rows(world, person=by), start=1):
        if row[0] > first or row[2] == "lost":
            yield number, *row


def losses(world: World) -> Iterator[tuple[Any, ...]]:
    """Yield the losses of all frags that were lost."""
    from tests.bench.troughs import cut_day, history

    number = 0
    for frag in range(world.frags):
        for kind, day, body in history(world, frag):
            number += 1
            if kind == "lost":
                rack, variety = frag % world.racks + 1, world.variety(frag)
                age = (day - cut_day(world, frag)).days
                yield (
                    *(number, frag + 1, variety, variety, rack, world.trough(rack), 1),
                    *(body["cause"], day.isoformat(), month(day), age, False),
                )


def looks(world: World, *, by: int) -> Iterator[tuple[Any, ...]]:
    """Yield that each rack was seen on ten days."""
    for rack in range(1, world.racks + 1):
        for seq in range(1, 11):
            day = TODAY - timedelta(days=11 - seq)
            yield rack, seq, "seen", moment(day), moment(day), day.isoformat(), by, json.dumps({})


def stop_rows(world: World, *, by: int) -> Iterator[tuple[Any, ...]]:
    """Yield a stop-sale for a system, which has ended, and ones that hold."""
    genus = 3
    for number, concern in enumerate(
        [(1, None, None, None), (None, 3, None, None), (None, None, 7, None)]
        + [(None, None, None, genus)],
        start=1,
    ):
        told = ("planarians", "three clean checks", TODAY.isoformat(), by, moment(TODAY))
        yield number, *concern, *told


def write_wide(world: World) -> None:
    """Write a rack that holds forty rows of forty."""
    from fraginv.base.models import Code
    from fraginv.stock.models import Frag, Rack, Trough
    from tests.bench.troughs import codes

    taken = world.racks + world.varieties + world.frags
    drawn = list(islice(codes(), taken, taken + WIDE * WIDE + 1))
    made = moment(TODAY)
    kinds = ["rack"] + ["frag"] * WIDE * WIDE
    write(Code, "code kind made_at", ((*pair, made) for pair in zip(drawn, kinds, strict=True)))
    rack, trough = world.racks + 1, Trough.objects.count() + 1
    write(Trough, "id system_id name", [(trough, 1, "Wide trough")])
    columns = "id code_id trough_id name rows columns"
    write(Rack, columns, [(rack, drawn[0], trough, "wide rack", WIDE, WIDE)])
    frag = "id code_id variety_id colony_id medium pieces free stage rack_id hole_row hole_column"
    write(
        Frag,
        f"{frag} cut_on heal_by likely_on wrong",
        (
            (world.frags + at + 1, drawn[at + 1], at % 50 + 1, at % 50 + 1, "plug", 1, 1)
            + (("healing", "growing", "ready")[at % 3], rack, at // WIDE + 1, at % WIDE + 1)
            + ("2026-11-01", "2026-11-15", "2026-12-31", "pest" if at % 40 == 0 else "")
            for at in range(WIDE * WIDE)
        ),
    )


def paths(world: World) -> dict[str, str]:
    """Return the pages that are opened."""
    from fraginv.stock.models import Frag, Loss, Rack

    living = Frag.objects.filter(pieces__gte=1, pk__lte=world.frags).order_by("-pk")
    growing = living.filter(stage="growing", quarantined=False).order_by("likely_on", "pk")
    likely = growing[growing.filter(apart=False).count() * 9 // 10]
    ready = living.filter(stage="ready", quarantined=False).select_related("rack", "colony")[3]
    away = living.filter(quarantined=True).order_by("quarantined_on", "pk")
    apart = living.filter(apart=True)
    racks = Rack.objects.order_by("trough__name", "name", "pk")
    assert ready.rack
    assert ready.colony
    filled = {
        "far_rack": racks[world.racks * 9 // 10].pk,
        "trough": ready.rack.trough_id,
        "rack": ready.rack.code_id,
        "rack_id": ready.rack.pk,
        "wide": Rack.objects.get(pk=world.racks + 1).code_id,
        "frag": ready.code_id,
        "sold": Frag.objects.filter(stage="sold").order_by("-pk")[5].code_id,
        "likely": f"{likely.likely_on}.{likely.pk}",
        "away": away[away.count() * 9 // 10].pk,
        "apart": apart[apart.count() * 9 // 10].pk,
        "deep": living[world.living * 9 // 10].pk,
        "loss": Loss.objects.order_by("day", "pk")[Loss.objects.count() // 10].pk,
        "colony": ready.colony.code_id,
        "variety": ready.variety_id,
    }
    return {name: path.format(**filled) for name, path in {**PAGES, **REPORTS}.items()}


def rows_of(case: str, big: Measured, small: Measured) -> Iterator[Row]:
    """Yield what is said of one page."""
    goal = None if case in REPORTS else PAGE_GOAL
    size = f"{big.statements} statements, {big.kib:,.0f} KiB"
    yield Row(f"page: {case}", size, big.ms, small.ms, goal)


if __name__ == "__main__":
    compared.main(Bench(MODULE, build, paths, rows_of))
