"""The stock of a big house: places, varieties, colonies, cuttings, frags and their events."""

import json
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from itertools import count, islice
from typing import Any

from fraginv.base.actions.founding import add_person, found_organisation
from fraginv.base.models import Code, Person
from fraginv.base.rules.codes import ALPHABET, check_character
from fraginv.base.rules.roles import Role
from fraginv.stock.models import (
    Claim,
    Colony,
    Cutting,
    Frag,
    FragEvent,
    Rack,
    System,
    Trough,
    Variety,
)
from fraginv.stock.rules.digest import Written, digest_of
from fraginv.taxa.models import Genus
from tests.bench.world import TODAY, WORDS, World, moment, month, write

PASSWORD = "ten small lanterns"
FRAG_COLUMNS = (
    "id code_id variety_id colony_id cutting_id is_lot medium pieces free stage apart quarantined "
    "kept_back wrong size heads rack_id hole_row hole_column cut_on ready_on ended_on last_seq "
    "quarantined_on clean_checks heal_by likely_on"
)
EVENT_COLUMNS = "frag_id seq kind at recorded_at day month by_id body digest"
CLAIM_COLUMNS = "id frag_id pieces kind for_name by_id made_at ended_how back"
PER_CUTTING = 20
IN_HOLES, QUARANTINE = 36, 2  # of the forty frags in a rack; the system's id
SPREAD = 387_420_489  # odd: it takes each number below 32 ** 6 to another one
Event = tuple[str, date, dict[str, Any]]


def found() -> Person:
    """Found the organisation, and return its manager."""
    found_organisation(
        "Tidewater Hall Aquarium",
        currency="USD",
        zone="America/New_York",
        label_host="REEF.EXAMPLE",
    )
    return add_person("manager", name="Test manager", role=Role.MANAGER, password=PASSWORD)


def codes() -> Iterator[str]:
    """Yield codes without end, each once, the same ones every time, their ends well spread."""
    for number in count(1):
        left, payload = number * SPREAD % 32**6, ""
        for _ in range(6):
            left, digit = divmod(left, 32)
            payload += ALPHABET[digit]
        check = check_character(payload)
        if check in ALPHABET:
            yield payload + check


def name_of(number: int) -> str:
    """Name a thing by its number in words, and by the number where the words run out."""
    first, second = divmod(number, len(WORDS))
    return f"{WORDS[second]} {WORDS[first % len(WORDS)]} {number}"


def write_places(world: World, *, person: Person) -> list[str]:
    """Write racks, varieties, colonies and cuttings; return the codes of the frags to come."""
    made = moment(TODAY - timedelta(days=4_000))
    drawn = list(islice(codes(), world.racks + world.varieties + world.frags))
    kinds = ["rack"] * world.racks + ["colony"] * world.varieties + ["frag"] * world.frags
    write(Code, "code kind made_at", ((*pair, made) for pair in zip(drawn, kinds, strict=True)))
    waters = [(1, "Display water", False), (2, "Quarantine", True)]
    write(System, "id name quarantine", waters)
    troughs = world.racks // 8 + 1
    write(
        Trough,
        "id system_id name",
        ((n, world.system(n), f"Trough {n:03d}") for n in range(1, troughs + 1)),
    )
    write(
        Rack,
        "id code_id trough_id name rows columns",
        ((n, drawn[n - 1], world.trough(n), f"rack {n}", 6, 10) for n in range(1, world.racks + 1)),
    )
    write_varieties(world, drawn[world.racks :])
    write_cuttings(world, person=person)
    return drawn[world.racks + world.varieties :]


def write_varieties(world: World, drawn: list[str]) -> None:
    """Write varieties over all genera, and one colony of each."""
    genera = list(Genus.objects.order_by("pk").values_list("pk", "group"))
    write(
        Variety,
        "id name genus_id species group care note",
        (
            (n, name_of(n), genus, "", group, "", "")
            for n in range(1, world.varieties + 1)
            for genus, group in [genera[n % len(genera)]]
        ),
    )
    write(
        Colony,
        "id code_id variety_id origin acquired_on rack_id rest_days last_cut_on barred_because "
        "state note",
        (
            (n, drawn[n - 1], n, "cut here", "2015-01-01", n % world.racks + 1, 30)
            + (TODAY.isoformat(), "", "living", "")
            for n in range(1, world.varieties + 1)
        ),
    )


def write_cuttings(world: World, *, person: Person) -> None:
    """Write one cutting for each twenty frags."""
    write(
        Cutting,
        "id colony_id day month pieces lost medium as_lot despite_rest by_id recorded_at",
        (
            (n, world.variety((n - 1) * PER_CUTTING), day.isoformat(), month(day))
            + (PER_CUTTING, 1, "plug", False, "", person.pk, moment(day))
            for n in range(1, world.cuttings + 1)
            for day in [cut_day(world, (n - 1) * PER_CUTTING)]
        ),
    )


def cut_day(world: World, frag: int) -> date:
    """Return the day of a frag's cutting: the same one for all of a cutting."""
    first = frag - frag % PER_CUTTING
    return min(world.day(first) - timedelta(days=60), TODAY - timedelta(days=1))


def history(world: World, frag: int) -> Iterator[Event]:
    """Yield what happened to a frag, counted from 0, the first thing first."""
    cut = cut_day(world, frag)
    yield "cut", cut, {"cutting": frag // PER_CUTTING + 1, "pieces": 1}
    yield "placed", cut, {"column": None, "rack": frag % world.racks + 1, "row": None}
    if not world.is_living(frag):
        ready = cut + timedelta(days=45)
        yield "inspected", cut + timedelta(days=14), {"stage": "growing"}
        yield "graded", ready, {"size": "M"}
        if world.is_sold(frag):
            yield "sold", max(world.day(frag), ready), {"claim": frag + 1, "pieces": 1}
        else:
            yield "lost", max(world.day(frag), ready), {"pieces": 1, "cause": "fell", "note": ""}
        return
    if frag % 4:
        yield "inspected", cut + timedelta(days=1), {"stage": "growing"}
    if frag % 4 > 1:
        yield "graded", cut + timedelta(days=1), {"size": "M"}


def write_frags(
    world: World, *, person: Person, drawn: list[str], with_events: bool = True
) -> None:
    """Write the frags, their events unless these are not asked for, and claims on them."""
    write(
        Frag, FRAG_COLUMNS, (frag_row(world, frag, code=drawn[frag]) for frag in range(world.frags))
    )
    if with_events:
        write(FragEvent, EVENT_COLUMNS, event_rows(world, person=person.pk))
    write(
        Claim,
        CLAIM_COLUMNS,
        (
            (frag + 1, frag + 1, 1, "sale", "", person.pk, moment(world.day(frag)), "", 0)
            for frag in range(world.frags)
            if world.is_sold(frag)
        ),
    )
    write(
        Claim,
        CLAIM_COLUMNS,
        (
            (world.frags + frag + 1, frag + 1, 1, "paid", "Ines Varga", person.pk)
            + (moment(TODAY), "", 0)
            for frag in range(world.frags)
            if standing(world, frag)["held"]
        ),
    )


def standing(world: World, frag: int) -> dict[str, Any]:
    """Return what is rare among all that stands in the troughs, in a house that is not told."""
    here = world.is_living(frag) and not world.told
    return {
        "held": here and frag % 79 == 3 and frag % 4 > 1,
        "apart": here and frag % 97 == 0,
        "kept_back": here and frag % 89 == 0,
        "wrong": ("pest" if frag % 2 else "algae") if here and frag % 83 == 0 else "",
        "size": ("S", "M", "L", "mini" if frag % 3 == 0 else "M")[frag // 4 % 4],
    }


def growing(world: World, frag: int, *, cut: date) -> tuple[Any, ...]:
    """Return hole, quarantine and usual days of a frag, in a house that is not told."""
    if world.told or not world.is_living(frag):
        return None, None, False, None, 0, None, None
    place = (frag - world.frags + world.living) // world.racks
    hole = divmod(place, 10) if 0 <= place < IN_HOLES else None
    away = world.system(world.trough(frag % world.racks + 1)) == QUARANTINE
    came = (TODAY - timedelta(days=frag % 60)).isoformat() if away else None
    return (
        *((hole[0] + 1, hole[1] + 1) if hole else (None, None)),
        *(away, came, frag % 5 if away else 0),
        *((cut + timedelta(days=days)).isoformat() for days in (14, 60)),
    )


def frag_row(world: World, frag: int, *, code: str) -> tuple[Any, ...]:
    """Return a frag's row as its history leaves it."""
    told = list(history(world, frag))
    last, days = told[-1], {kind: day for kind, day, _ in told}
    stage = {"placed": "healing", "inspected": "growing", "graded": "ready"}.get(last[0], last[0])
    pieces = 1 if world.is_living(frag) else 0
    ready, rare = days.get("graded"), standing(world, frag)
    size = "M" if world.told else rare["size"]
    row, column, away, *usual = growing(world, frag, cut=days["cut"])
    return (
        *(frag + 1, code, world.variety(frag), world.variety(frag), frag // PER_CUTTING + 1),
        *(False, "plug", pieces, 0 if rare["held"] else pieces, stage, rare["apart"], away),
        *(rare["kept_back"], rare["wrong"], size if ready else "", None),
        *(frag % world.racks + 1, row, column, days["cut"].isoformat()),
        *(ready and ready.isoformat(), None if pieces else last[1].isoformat(), len(told)),
        *usual,
    )


def event_rows(world: World, *, person: int) -> Iterator[tuple[Any, ...]]:
    """Yield the rows of all events; their digest is true only in a house that is told."""
    for frag in range(world.frags):
        for seq, (kind, day, body) in enumerate(history(world, frag), start=1):
            at = moment(day)
            digest = ""
            if world.told:
                noon = datetime(day.year, day.month, day.day, 17, tzinfo=UTC)
                digest = digest_of(
                    Written(frag + 1, seq, kind, noon, noon, day, month(day), person, body)
                )
            yield (
                *(frag + 1, seq, kind, at, at, day.isoformat(), month(day), person),
                *(json.dumps(body), digest),
            )
