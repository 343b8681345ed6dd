"""How a printer strays from what it is sent, and how labels are set right for it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import sqrt

from fraginv.base.errors import InputError
from fraginv.labels.rules.forms import EDGE_MM
from fraginv.labels.rules.stocks import LabelStock

# Dots to the inch that a printer may have. Common practice, no source: 203, 300 and 600.
LEAST_DPI, MOST_DPI = 150, 2400
# More than this is no printer's own error: the page was shrunk to fit, or the ruler read wrongly.
MOST_STRETCH = 0.02
LEAST_ASTRAY_TENTHS = 5
# A centimetre off is a sheet that was put in wrongly.
MOST_SHIFT_TENTHS = 100
BAR_MM, CORNER_MM = 100, 20
SHORTEST_BAR_MM, NARROW_CORNER_MM = 10, 4
TICK_MM = 4.0
LINE_MM = 0.2


@dataclass(frozen=True, slots=True)
class Measures:
    """Hold what a ruler found on a check sheet, in tenths of a millimetre."""

    across_tenths: int
    down_tenths: int
    left_tenths: int
    top_tenths: int


@dataclass(frozen=True, slots=True)
class Check:
    """Say what a check sheet shows: bars and how far from the paper's edges they begin."""

    bar_mm: int = BAR_MM
    corner_mm: int = CORNER_MM


@dataclass(frozen=True, slots=True)
class Correction:
    """Say what is printed where: ``stretch`` times as far out, and ``shift`` further.

    ``right_mm`` and ``down_mm`` are by how much a person wants all of it moved.
    """

    stretch_x: float = 1.0
    stretch_y: float = 1.0
    shift_x_mm: float = 0.0
    shift_y_mm: float = 0.0
    right_mm: float = 0.0
    down_mm: float = 0.0

    @property
    def stretch(self) -> float:
        """Return by how much lengths come out longer, the two ways taken together.

        Of a square that comes out a little longer one way than the other it is the side of
        the square with the same area.
        """
        return sqrt(self.stretch_x * self.stretch_y)

    @property
    def is_none(self) -> bool:
        """Tell whether nothing is to be set right."""
        return self == Correction()


def check_for(*, page_width_mm: float, page_height_mm: float) -> Check:
    """Return the longest bars, up to 100 mm, that fit a page.

    Raises: InputError for a page that is too small for a bar of a centimetre.
    """
    shorter = min(page_width_mm, page_height_mm)
    corner = CORNER_MM if shorter >= BAR_MM + 2 * CORNER_MM else NARROW_CORNER_MM
    bar = min(BAR_MM, int((shorter - corner - NARROW_CORNER_MM) // 10) * 10)
    if bar < SHORTEST_BAR_MM:
        raise InputError(
            f"A page of {page_width_mm:.1f} × {page_height_mm:.1f} mm is too small to measure a"
            " printer on. Print the check sheet on larger labels."
        )
    return Check(bar_mm=bar, corner_mm=corner)


def check_measures(measures: Measures, *, check: Check) -> None:
    """Refuse measures that no printer's own error explains.

    Raises: InputError with one sentence for each of them.
    """
    faults = list(measure_faults(measures, check=check))
    if faults:
        raise InputError(" ".join(faults))


def measure_faults(measures: Measures, *, check: Check) -> Iterator[str]:
    """Yield what is wrong with each measure, and what to do."""
    bar, corner = check.bar_mm * 10, check.corner_mm * 10
    most = max(LEAST_ASTRAY_TENTHS, round(bar * MOST_STRETCH))
    for name, tenths in (("across", measures.across_tenths), ("down", measures.down_tenths)):
        if abs(tenths - bar) > most:
            yield (
                f"The bar {name} is {check.bar_mm} mm and was measured as {tenths / 10:.1f} mm."
                " Print the check sheet at true size (100 %, no “fit to page”) and measure it"
                f" again; from {(bar - most) / 10:.1f} to {(bar + most) / 10:.1f} mm can be set"
                " right."
            )
    for name, tenths in (("left", measures.left_tenths), ("top", measures.top_tenths)):
        if abs(tenths - corner) > MOST_SHIFT_TENTHS:
            least = max(0, corner - MOST_SHIFT_TENTHS) / 10
            yield (
                f"The corner should lie {check.corner_mm} mm from the {name} edge and was measured"
                f" at {tenths / 10:.1f} mm. Look how the paper lies in the printer and measure"
                f" again; from {least:.1f} to {(corner + MOST_SHIFT_TENTHS) / 10:.1f} mm can be"
                " set right."
            )


def correction_from(measures: Measures, *, check: Check) -> Correction:
    """Return how a printer strays, from what was measured on its check sheet."""
    stretch_x = measures.across_tenths / (check.bar_mm * 10)
    stretch_y = measures.down_tenths / (check.bar_mm * 10)
    return Correction(
        stretch_x=stretch_x,
        stretch_y=stretch_y,
        shift_x_mm=measures.left_tenths / 10 - stretch_x * check.corner_mm,
        shift_y_mm=measures.top_tenths / 10 - stretch_y * check.corner_mm,
    )


def check_offset(right_tenths: int, *, down_tenths: int) -> None:
    """Refuse to move labels by more than a centimetre.

    Raises: InputError.
    """
    for way, tenths in (("right", right_tenths), ("down", down_tenths)):
        if abs(tenths) > MOST_SHIFT_TENTHS:
            raise InputError(
                f"Labels cannot be moved {tenths / 10:.1f} mm {way}: give from"
                f" -{MOST_SHIFT_TENTHS / 10:.1f} to {MOST_SHIFT_TENTHS / 10:.1f} mm. If they lie"
                " further off, the sheet's own measures are wrong."
            )


def corrected(stock: LabelStock, *, correction: Correction) -> LabelStock:
    """Return the stock as it must be sent, so that it comes out where it is.

    A place p that is sent is printed at stretch × p + shift. The page stays as
    it is. A symbol keeps its size, so that its modules stay whole dots.
    Raises: InputError when labels would be sent off the page.
    """
    if correction.is_none:
        return stock
    across, down = correction.stretch_x, correction.stretch_y
    sent = replace(
        stock,
        width_mm=stock.width_mm / across,
        height_mm=stock.height_mm / down,
        left_mm=(stock.left_mm + correction.right_mm - correction.shift_x_mm) / across,
        top_mm=(stock.top_mm + correction.down_mm - correction.shift_y_mm) / down,
        pitch_x_mm=stock.pitch_x_mm / across,
        pitch_y_mm=stock.pitch_y_mm / down,
    )
    check_on_page(sent)
    return sent


def check_on_page(sent: LabelStock) -> None:
    """Refuse to send what the page would cut off.

    Raises: InputError.
    """
    last = sent.place(sent.per_sheet - 1)
    over = {
        "left": -sent.left_mm,
        "top": -sent.top_mm,
        "right": last.x_mm + sent.width_mm - sent.page_width_mm,
        "bottom": last.y_mm + sent.height_mm - sent.page_height_mm,
    }
    for side, mm in over.items():
        if mm > EDGE_MM:
            raise InputError(
                f"Set right for the printer, these labels would be cut off at the {side} by"
                f" {mm - EDGE_MM:.1f} mm. Move the paper's guides or the start in the printer's own"
                " menu, measure the printer again, or give a smaller offset."
            )


def check_drawing(check: Check, *, page_width_mm: float, page_height_mm: float) -> str:
    """Return a check sheet as PDF operators: two bars from one corner, and the page's corners.

    Each bar ends in strokes across it, with a short one every ten millimetres.
    """
    at, bar = check.corner_mm, check.bar_mm
    strokes = [f"{at:.4f} {at - LINE_MM / 2:.4f} {bar:.4f} {LINE_MM} re f"]
    strokes.append(f"{at - LINE_MM / 2:.4f} {at:.4f} {LINE_MM} {bar:.4f} re f")
    for step in range(0, bar + 1, 10):
        tick = TICK_MM if step in {0, bar} else TICK_MM / 2
        strokes.append(upright(at + step, at - tick / 2, tick))
        strokes.append(level(at - tick / 2, at + step, tick))
    far_x, far_y = page_width_mm - at, page_height_mm - at
    for x, y in ((far_x, at), (at, far_y), (far_x, far_y)):
        strokes += [upright(x, y - TICK_MM / 2, TICK_MM), level(x - TICK_MM / 2, y, TICK_MM)]
    return "\n".join(strokes)


def upright(x: float, y: float, length: float) -> str:
    """Return an upright stroke, its middle line at ``x``."""
    return f"{x - LINE_MM / 2:.4f} {y:.4f} {LINE_MM} {length:.4f} re f"


def level(x: float, y: float, length: float) -> str:
    """Return a level stroke, its middle line at ``y``."""
    return f"{x:.4f} {y - LINE_MM / 2:.4f} {length:.4f} {LINE_MM} re f"
