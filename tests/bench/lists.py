"""Lists and search with 100,000 living and 1,000,000 ended frags, against a tenth of both.

``python -m tests.bench.lists`` builds both houses without events and papers, which no list
asks for. Each list is opened at its beginning, at nine tenths and, narrowed to what hardly
anything is, to where it was looked at in part.
"""

from collections.abc import Iterator

from tests.bench.compared import PAGE_GOAL, Bench, Measured, build, main
from tests.bench.table import Row
from tests.bench.world import World

MODULE = "tests.bench.lists"
SEARCH_GOAL_MS = 50.0


LISTS: dict[str, str] = {
    "all": "",
    "all, at nine tenths": "after={deep}",
    "ready": "stage=ready",
    "for sale": "stage=sale",
    "sold, at nine tenths": "stage=sold&after={sold}",
    "size": "size=L",
    "size mini, healing": "stage=healing&size=mini",
    "rack": "rack={rack}",
    "trough and size": "trough={trough}&size=M",
    "system and group": "system=1&group=clam",
    "system, at nine tenths": "system=1&after={deep}",
    "group": "group=SPS",
    "rare group and size": "group=gorgonian&size=mini&stage=growing",
    "variety": "variety={variety}",
    "variety sold": "variety={variety}&stage=sold",
    "genus": "genus={genus}",
    "name": "q=lantern",
    "name, sold, size": "q=lantern&stage=sold&size=L",
    "code's beginning": "q={code:.5}",
    "held": "held=yes",
    "held, of a size": "held=yes&size=S",
    "not held": "held=no&stage=ready",
    "apart": "apart=yes",
    "quarantined": "quarantined=yes",
    "kept back, healing": "kept=yes&stage=healing",
    "problem": "wrong=any",
    "pest in a trough": "wrong=pest&trough={trough}",
    "nothing that fits": "wrong=other&held=yes",
    "nothing that fits, dense": "stage=healing&held=no&apart=no&wrong=no&size=S",
    "age": "age_from=5&age_to=90",
    "age, sold": "stage=sold&age_from=2000&age_to=2030",
    "age, for sale, size": "stage=sale&size=M&age_from=1",
}
CUTTINGS: dict[str, str] = {
    "cuttings": "",
    "cuttings, at nine tenths": "after={cutting}",
    "cuttings of a colony": "variety={variety}",
    "cuttings of a group, under rest": "group=SPS&rest=yes",
    "cuttings of some days": "first=2020-01-01&last=2020-03-01&lot=no",
}
TEXTS: dict[str, str] = {
    "name": "lantern",
    "name and number": "harbour 12",
    "two letters": "ha",
    "one letter": "l",
    "rack": "rack 7",
    "trough": "trough 002",
    "genus": "acropora",
    "customer": "customer 1",
    "end": "{end}",
    "code": "{code}",
    "beginning": "{code:.4}",
    "nothing": "zzzzq",
}


def paths(world: World) -> dict[str, str]:
    """Return what is asked for: lists by what narrows them, and texts that are searched."""
    from fraginv.stock.models import Frag, Rack

    living = Frag.objects.filter(pieces__gte=1).order_by("-pk")
    ready = living.filter(stage="ready").select_related("variety")[3]
    rack = Rack.objects.order_by("pk")[7]
    filled = {
        "deep": living.values_list("pk", flat=True)[world.living * 9 // 10],
        "sold": world.frags // 10,
        "cutting": world.cuttings // 10,
        "rack": rack.code_id,
        "trough": rack.trough_id,
        "variety": ready.variety_id,
        "genus": ready.variety.genus_id,
        "code": ready.code_id,
        "end": ready.code_id[-3:],
    }
    found = {name: f"/frags?{query.format(**filled)}" for name, query in LISTS.items()}
    found |= {name: f"/cuttings?{query.format(**filled)}" for name, query in CUTTINGS.items()}
    for name, text in TEXTS.items():
        asked = text.format(**filled).replace(" ", "+")
        found[f"type: {name}"] = f"/find/answers?q={asked}"
        found[f"find: {name}"] = f"/find?q={asked}"
    return found


def rows_of(case: str, big: Measured, small: Measured) -> Iterator[Row]:
    """Yield what is said of one list or search."""
    if case.startswith(("find", "type")):
        yield Row(f"search: {case}", "100k living", big.ms, goal=SEARCH_GOAL_MS)
    else:
        yield Row(f"list: {case}", "100k : 10k living", big.ms, small.ms, PAGE_GOAL)


if __name__ == "__main__":
    main(Bench(MODULE, build, paths, rows_of))
