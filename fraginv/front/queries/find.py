"""Finding by code, by the last characters of one, by name, by place."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from fraginv.base.errors import NotFound
from fraginv.base.queries.codes import get_code
from fraginv.base.rules.codes import CodeError, address_path, read_code
from fraginv.front.queries.rows import FragRow, listed, rows_of
from fraginv.stock.models import Colony, Rack, Variety
from fraginv.stock.queries.colonies import colonies
from fraginv.stock.queries.places import racks
from fraginv.stock.queries.varieties import varieties_like
from fraginv.stock.rules.stages import LIVING

SHOWN = 20
LAST_CHARACTERS = 3


@dataclass(frozen=True)
class Found:
    """What a text leads to; ``path`` where it is one thing alone."""

    path: str = ""
    wrong_code: str = ""
    frags: Sequence[FragRow] = field(default_factory=list)
    varieties: Sequence[Variety] = field(default_factory=list)
    colonies: Sequence[Colony] = field(default_factory=list)
    racks: Sequence[Rack] = field(default_factory=list)

    @property
    def is_empty(self) -> bool:
        """Tell whether nothing was found."""
        return not (self.path or self.frags or self.varieties or self.colonies or self.racks)


def find(text: str) -> Found:
    """Return what a text means: a code in any form, its last three characters, or a name.

    A name may look like a code by chance, so names are tried before a code is
    called wrong or unknown.
    Raises: NotFound for a code that is well formed, not ours, and no name either.
    Queries: 1 for a code, else 3 to 5.
    """
    try:
        return Found(path=address_path(get_code(read_code(text)).code))
    except CodeError as error:
        found = find_names(text)
        if found.is_empty and error.data["reason"] == "check":
            return Found(wrong_code=error.message)
        return found
    except NotFound:
        found = find_names(text)
        if found.is_empty:
            raise
        return found


def find_names(text: str) -> Found:
    """Return frags by the end of their code, varieties, colonies and racks by name.

    Queries: 3, and 1 for three characters.
    """
    wanted = " ".join(text.split())
    if not wanted:
        return Found()
    found = Found(
        frags=frags_ending_in(wanted),
        varieties=list(varieties_like(wanted)[:SHOWN]),
        colonies=list(colonies().filter(variety__name__icontains=wanted)[:SHOWN]),
        racks=list(racks().filter(name__icontains=wanted)[:SHOWN]),
    )
    codes = [row.frag.code_id for row in found.frags]
    codes += [colony.code_id for colony in found.colonies]
    codes += [rack.code_id for rack in found.racks]
    if len(codes) == 1 and not found.varieties:
        return Found(path=address_path(codes[0]))
    return found


def frags_ending_in(text: str) -> list[FragRow]:
    """Return living frags whose code ends in three characters.

    Queries: 1, or none for another number of characters.
    """
    if len(text) != LAST_CHARACTERS or not text.isalnum():
        return []
    end = text.upper().translate(str.maketrans("OIL", "011"))
    frags = listed().filter(code__code__endswith=end, stage__in=sorted(LIVING))
    return rows_of(frags[:SHOWN])
