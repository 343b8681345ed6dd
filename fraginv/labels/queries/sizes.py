"""How large symbols come out of the printer."""

from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache

from fraginv.base.errors import Conflict
from fraginv.base.rules.codes import address
from fraginv.base.symbols import make_symbol
from fraginv.labels.models import PrintRun
from fraginv.labels.rules.fitting import ANY_CODE, LEVEL, fit_symbol
from fraginv.labels.rules.printers import Correction
from fraginv.labels.rules.stocks import LabelStock

CENT = Decimal("0.01")
# Photographs are measured by what is kept; more than one in a thousand beside it is another size.
SAME_SIZE = Decimal("0.001")


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


@lru_cache(maxsize=64)
def modules_at(host: str) -> int:
    """Return how many modules a symbol with an address at a host has along a side."""
    return make_symbol(address(host, ANY_CODE), level=LEVEL).modules
