"""Finding by code, by the last characters of one, by name, by place, by a paper's number."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from django.urls import reverse

from fraginv.base.errors import NotFound
from fraginv.base.models import Person
from fraginv.base.queries.codes import get_code
from fraginv.base.queries.words import first_named
from fraginv.base.rules.codes import CodeError, address_path, read_code
from fraginv.base.rules.roles import Right
from fraginv.front.queries.rows import FragRow, codes_ending_in, listed, rows_of
from fraginv.stock.models import Colony, Rack, Variety
from fraginv.stock.models.frags import LIVES
from fraginv.stock.queries.colonies import colonies
from fraginv.stock.queries.places import racks_like
from fraginv.stock.queries.varieties import KIND, varieties_like
from fraginv.trade.models import Customer
from fraginv.trade.queries.finding import customers_like, sale_of_paper

SHOWN = 40


@dataclass(frozen=True)
class Found:
    """What a text leads to; ``path`` where it is one thing alone."""

    path: str = ""
    wrong_code: str = ""
    frags: Sequence[FragRow] = field(default_factory=list)
    varieties: Sequence[Variety] = field(default_factory=list)
    colonies: Sequence[Colony] = field(default_factory=list)
    racks: Sequence[Rack] = field(default_factory=list)
    customers: Sequence[Customer] = field(default_factory=list)

    @property
    def is_empty(self) -> bool:
        """Tell whether nothing was found."""
        return not (self.path or self.varieties or self.has_others or self.colonies)

    @property
    def has_others(self) -> bool:
        """Tell whether there is something that has nothing to do with a variety."""
        return bool(self.frags or self.racks or self.customers)

    @property
    def is_one_variety(self) -> bool:
        """Tell whether a variety was found, and perhaps its colonies, and nothing else."""
        return len(self.varieties) == 1 and not self.has_others


def find(text: str, *, reader: Person) -> Found:
    """Return what a text means: a paper's number, a code in any form or its end, or a name.

    Papers and customers are looked for only where the reader may see them.

    A name may look like a code by chance, so names are tried before a code is
    called wrong or unknown.
    Raises: NotFound for a code that is well formed, not ours, and no name either.
    Queries: 1 for a code or a paper, else 5 to 11.
    """
    sale = sale_of_paper(text) if reader.can(Right.SEE_PAPERS) else None
    if sale is not None:
        return Found(path=reverse("trade:sale", args=[sale]))
    try:
        return Found(path=address_path(get_code(read_code(text)).code))
    except CodeError as error:
        found = find_names(text, sees_customers=reader.can(Right.SEE_CUSTOMERS))
        if found.is_empty and error.data["reason"] == "check":
            return Found(wrong_code=error.message)
        return found
    except NotFound:
        found = find_names(text, sees_customers=reader.can(Right.SEE_CUSTOMERS))
        if found.is_empty:
            raise
        return found


def find_names(text: str, *, sees_customers: bool) -> Found:
    """Return frags by the end of their code, and the rest by name; racks by their trough's too.

    Queries: 5, 2 for three characters, and 2 for customers.
    """
    wanted = " ".join(text.split())
    if not wanted:
        return Found()
    found = Found(
        frags=frags_ending_in(wanted),
        varieties=list(varieties_like(wanted)[:SHOWN]),
        colonies=list(colonies().filter(variety__in=first_named(wanted, kind=KIND))[:SHOWN]),
        racks=list(racks_like(wanted)[:SHOWN]),
        customers=list(customers_like(wanted)[:SHOWN]) if sees_customers else [],
    )
    codes = [row.frag.code_id for row in found.frags]
    codes += [colony.code_id for colony in found.colonies]
    codes += [rack.code_id for rack in found.racks]
    paths = [address_path(code) for code in codes]
    paths += [reverse("trade:customer", args=[customer.pk]) for customer in found.customers]
    if len(paths) == 1 and not found.varieties:
        return Found(path=paths[0])
    return found


def frags_ending_in(text: str) -> list[FragRow]:
    """Return living frags whose code ends in three characters.

    Queries: 2, or none for another number of characters.
    """
    return rows_of(listed().filter(LIVES, code__in=codes_ending_in(text))[:SHOWN])
