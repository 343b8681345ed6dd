"""The measuring card as a PDF, and for which printers it can be set right."""

from fraginv.base.errors import InputError, NotFound
from fraginv.base.paper import render_pdf
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.card import CARD_HEIGHT_MM, CARD_WIDTH_MM
from fraginv.labels.models import Printer
from fraginv.labels.queries.stocks import correction_of, get_printer, printers_in_use
from fraginv.labels.rules.card_sheet import FOOT_MM, card_drawing, card_paper, is_cut_out
from fraginv.labels.rules.printers import Correction


def card_pdf(paper: str, *, printer: Printer | None = None) -> bytes:
    """Return the measuring card on a sheet, true to size.

    Args: ``a5`` or ``letter``; the printer whose own stretch is made good.
    Raises: InputError for another sheet, or a printer that nobody measured;
        PaperError when papers cannot be made.
    Queries: as ``organisation``.
    """
    sheet = card_paper(paper)
    correction = correction_of_measured(printer) if printer else Correction()
    drawing = card_drawing(sheet, correction=correction)
    context = {
        "organisation": organisation(),
        "paper": sheet,
        "across": f"{1 / correction.stretch_x:.6f}",
        "down": f"{1 / correction.stretch_y:.6f}",
        "printer": printer.name if printer else "",
        "cut_out": is_cut_out(sheet),
        "width_mm": CARD_WIDTH_MM,
        "height_mm": CARD_HEIGHT_MM,
        "foot_mm": FOOT_MM,
        "middle_x_mm": CARD_WIDTH_MM / 2,
        "middle_y_mm": CARD_HEIGHT_MM / 2,
    }
    return render_pdf("labels/paper_card.html", context, finisher=lambda _: drawing)


def correction_of_measured(printer: Printer) -> Correction:
    """Return how a printer strays.

    Raises: InputError where nobody has measured it.
    """
    if printer.measured_at is None:
        raise InputError(
            f"Nobody has measured {printer.name} yet. Print its check sheet and type in what the"
            " bars measure, or take the card as it comes and measure its bar."
        )
    return correction_of(printer)


def card_printer(name: str) -> Printer:
    """Return a printer in use by its name in any case.

    Raises: NotFound naming those that there are.
    Queries: 1.
    """
    known = printers_in_use()
    for printer in known:
        if printer.name.lower() == " ".join(name.split()).lower():
            return printer
    names = ", ".join(printer.name for printer in known)
    there_are = f"There are: {names}." if known else "No printer is written down yet."
    raise NotFound(f"There is no printer “{name[:40]}”. {there_are}")


def printer_with_id(text: str) -> Printer | None:
    """Return the printer that a page's address names, or None where it names none.

    Raises: NotFound.
    Queries: 1 at most.
    """
    if not text:
        return None
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise NotFound("There is no such printer.")
    return get_printer(int(text))
