"""The demo's invented place, people, shops, varieties and bills.

Nothing here exists: no place, person, business or variety of these names is
meant. Care notes and growth are common practice, no source. Varieties and
monthly bills stand in ``fixtures/demo``.
"""

import csv
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Final

from fraginv.base.rules.money import parse_amount
from fraginv.base.rules.roles import Role

TABLES: Final = Path(__file__).resolve().parents[3] / "fixtures" / "demo"

PASSWORD: Final = "seawater-and-patience"  # noqa: S105 shown on the demo's own page

NAME: Final = "Saltmere Common Reef"
ADDRESS: Final = "Pumphouse Lane 3\nPort Hollis"
LABEL_HOST: Final = "SALTMERE.EXAMPLE"
ZONE: Final = "America/New_York"
CURRENCY: Final = "USD"
TAX_NAME: Final = "Hollis sales tax"
TAX_RATE: Final = "0.0625"

MONTHS: Final = 14
# Varieties of which one frag a cutting is measured as it grows.
MEASURED: Final = ("Lockkeeper's Lamp", "Slate Terrace", "Signal Box", "Bellringer")
OPEN_DAY_EVERY: Final = timedelta(days=28)


@dataclass(frozen=True)
class Player:
    """Somebody of the crew, or a reader."""

    username: str
    name: str
    role: Role


CREW: Final = (
    Player("maren", "Maren Oduya", Role.OWNER),
    Player("tobias", "Tobias Lindvall", Role.MANAGER),
    Player("priya", "Priya Castellane", Role.GROWER),
    Player("jonah", "Jonah Brightwell", Role.SELLER),
    Player("nell", "Nell Abara", Role.SELLER),
    Player("ada", "Ada Whitmarsh", Role.READER),
)


@dataclass(frozen=True)
class Buyer:
    """A customer; ``months_of_certificate`` is how long a resale certificate runs."""

    name: str
    kind: str
    months_of_certificate: int = 0


BUYERS: Final = (
    Buyer("Fennimore Street Fish Room", "shop", 30),
    Buyer("Grotto & Daughters", "shop", 20),
    Buyer("The Wet Corner, Ardley", "shop"),
    Buyer("Ines Varga", "retail"),
    Buyer("Kofi Mensah-Lund", "retail"),
    Buyer("Rosalind Peck", "retail"),
)


@dataclass(frozen=True)
class Kind:
    """A variety: how its pictures look, how often its colony is cut, what a piece costs.

    ``hue`` is in degrees, ``form`` a shape of its group; ``retail`` and
    ``shop`` are the prices of a size M piece in cents; ``ready_days`` is the
    time from cutting to ready, ``pieces`` what a cutting gives.
    """

    name: str
    genus: str
    species: str
    hue: int
    form: int
    retail: int
    shop: int
    ready_days: int
    rest_days: int
    pieces: int
    heads: int
    care: str


@dataclass(frozen=True)
class Cost:
    """A bill that comes every month: cents at least, and how far above that it goes."""

    kind: str
    supplier: str
    least: int
    spread: int
    serves: str
    day: int


# Lots: of which variety, of how many pieces, cut how many months ago.
LOTS: Final = (
    ("Signal Box", 40, 3),
    ("Cellar Door", 30, 2),
    ("Weir Ladder", 24, 4),
    ("Bellringer", 30, 10),
    ("Signal Box", 60, 12),
    ("Cellar Door", 60, 13),
)


def rows(name: str) -> list[dict[str, str]]:
    """Read one of the demo's tables."""
    with (TABLES / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def varieties() -> list[Kind]:
    """Return the demo's varieties."""
    return [
        Kind(
            name=row["name"],
            genus=row["genus"],
            species=row["species"],
            hue=int(row["hue"]),
            form=int(row["form"]),
            retail=parse_amount(row["retail"], currency=CURRENCY),
            shop=parse_amount(row["shop"], currency=CURRENCY),
            ready_days=int(row["ready_days"]),
            rest_days=int(row["rest_days"]),
            pieces=int(row["pieces"]),
            heads=int(row["heads"]),
            care=row["care"],
        )
        for row in rows("varieties.csv")
    ]


def costs() -> list[Cost]:
    """Return the demo's monthly bills."""
    return [
        Cost(
            kind=row["kind"],
            supplier=row["supplier"],
            least=parse_amount(row["least"], currency=CURRENCY),
            spread=parse_amount(row["spread"], currency=CURRENCY),
            serves=row["serves"],
            day=int(row["day"]),
        )
        for row in rows("costs.csv")
    ]
