"""How large symbols come out of the printer, and at what sizes codes were printed."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache

from django.db.models import Max

from fraginv.base.errors import Conflict
from fraginv.base.rules.codes import address
from fraginv.base.symbols import make_symbol
from fraginv.labels.models import PrintedLabel, PrintRun
from fraginv.labels.rules.fitting import ANY_CODE, LEVEL, fit_symbol
from fraginv.labels.rules.printers import Correction
from fraginv.labels.rules.stocks import LabelStock

CENT = Decimal("0.01")
# Photographs are measured by what is kept; more than one in a thousand beside it is another size.
SAME_SIZE = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class PrintedSize:
    """A size at which a code's symbol was printed, and when that was last done.

    ``symbol_mm`` is the symbol's own side on paper, without quiet zone and frame.
    """

    symbol_mm: Decimal
    modules: int
    at: datetime


def size_on_paper(sent: LabelStock, *, correction: Correction, host: str) -> Decimal:
    """Return how wide a symbol comes out, in mm: what is sent, as its printer stretches it.

    Args: what ``set_right`` returns.
    Raises: InputError where it does not fit.
    """
    symbol_mm = fit_symbol(sent, host=host).symbol_mm * correction.stretch
    return Decimal(symbol_mm).quantize(CENT, ROUND_HALF_UP)


def refuse_other_size(run: PrintRun, *, now_mm: Decimal) -> None:
    """Refuse sheets of a run whose symbols would not come out as wide as is kept of them.

    Raises: Conflict.
    """
    if abs(now_mm - run.symbol_mm) > run.symbol_mm * SAME_SIZE:
        raise Conflict(
            f"The QR codes of this run are kept as {run.symbol_mm} mm wide. Its printer or its"
            f" sheet was changed since: now they come out {now_mm} mm wide, and what is measured"
            " in photographs would be wrong by the difference. Open the run's page and choose"
            " “Print again”."
        )


def printed_sizes(codes: Iterable[str]) -> dict[str, list[PrintedSize]]:
    """Return each size at which codes were printed, the latest first; an old label may last.

    A code that was never printed is left out. Where two sizes differ in modules, the symbol
    in a photograph tells by its version which of them it is.
    Queries: 1.
    """
    rows = PrintedLabel.objects.filter(code__in=list(codes))
    sizes = rows.values("code_id", "run__symbol_mm", "run__host").annotate(at=Max("run__at"))
    found: dict[str, dict[tuple[Decimal, int], PrintedSize]] = {}
    for row in sizes.order_by("-at"):
        size = PrintedSize(row["run__symbol_mm"], modules_at(row["run__host"]), row["at"])
        found.setdefault(row["code_id"], {}).setdefault((size.symbol_mm, size.modules), size)
    return {code: list(of_code.values()) for code, of_code in found.items()}


@lru_cache(maxsize=64)
def modules_at(host: str) -> int:
    """Return how many modules a symbol with an address at a host has along a side."""
    return make_symbol(address(host, ANY_CODE), level=LEVEL).modules
