"""What a person fills in to describe a label sheet, a roll or a printer."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from fraginv.base.errors import InputError
from fraginv.labels.forms.printing import form_choices
from fraginv.labels.models import OwnStock, Printer
from fraginv.labels.rules.measures import (
    MOST_ACROSS,
    MOST_DOWN,
    MOST_PAGE_MM,
    PAPERS,
    UM,
    StockMeasures,
    check_stock,
    mm,
    read_stock_name,
    roll_measures,
)
from fraginv.labels.rules.printers import Check, Measures

SHEET, ROLL = "sheet", "roll"
OTHER = "other"
SIZES = {name.lower(): size for size, name in PAPERS.items()}
DPIS = {203: "203: many label printers", 300: "300", 600: "600: many laser printers"}
# What is asked only of a sheet, of a sheet of another size, or of a roll.
WHEN = {
    **dict.fromkeys(
        ("paper", "columns", "rows", "pitch_x", "pitch_y", "left", "top"), "kind=sheet"
    ),
    **dict.fromkeys(("page_width", "page_height"), "kind=sheet paper=other"),
    "gap": "kind=roll",
}


def millimetres(
    label: str, *, required: bool = True, help_text: str = "", places: int = 2, **limits: Any
) -> forms.DecimalField:
    """Ask for a length in millimetres."""
    limits = {"min_value": 0, "max_value": MOST_PAGE_MM} | limits
    return forms.DecimalField(
        label=f"{label}, mm",
        required=required,
        help_text=help_text,
        max_digits=6,
        decimal_places=places,
        **limits,
    )


class StockForm(forms.Form):
    """Ask for the measures of a label sheet or a roll."""

    name = forms.CharField(
        label="Name", max_length=40, help_text="Short, as on its packet: bag-80x50."
    )
    kind = forms.ChoiceField(
        label="It is",
        choices=[(SHEET, "A sheet of labels"), (ROLL, "A roll, one label after the other")],
        widget=forms.RadioSelect,
        initial=SHEET,
    )
    form = forms.ChoiceField(label="For", choices=form_choices, initial="plain")
    width = millimetres("Width of a label", min_value=1)
    height = millimetres("Height of a label", min_value=1)
    gap = millimetres("Gap to the next label", required=False, initial=3)
    paper = forms.ChoiceField(
        label="Size of the sheet",
        choices=[("letter", "Letter"), ("a4", "A4"), (OTHER, "Another size")],
        required=False,
    )
    page_width = millimetres("Width of the sheet", required=False)
    page_height = millimetres("Height of the sheet", required=False)
    columns = forms.IntegerField(
        label="Labels side by side", required=False, min_value=1, max_value=MOST_ACROSS
    )
    rows = forms.IntegerField(
        label="Labels one under the other", required=False, min_value=1, max_value=MOST_DOWN
    )
    pitch_x = millimetres(
        "From one label's left edge to the next one's",
        required=False,
        help_text="Leave empty where labels touch.",
    )
    pitch_y = millimetres(
        "From one label's top edge to the next one's",
        required=False,
        help_text="Leave empty where labels touch.",
    )
    left = millimetres(
        "Margin at the left",
        required=False,
        help_text="Leave empty where both sides have the same.",
    )
    top = millimetres(
        "Margin at the top",
        required=False,
        help_text="Leave empty where top and bottom have the same.",
    )

    def __init__(self, *args: Any, named: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if named:
            del self.fields["name"]

    def asked(self) -> Iterator[tuple[BoundField, str]]:
        """Yield each question, and after which other answers it is asked."""
        for field in self:
            yield field, WHEN.get(field.name, "")

    def clean(self) -> dict[str, Any]:
        """Work the measures out, and refuse what cannot be."""
        cleaned = super().clean() or {}
        if self.errors:
            return cleaned
        self.refuse_gaps(cleaned)
        if self.errors:
            return cleaned
        try:
            if "name" in cleaned:
                cleaned["name"] = read_stock_name(cleaned["name"])
            cleaned["measures"] = measures_from(cleaned)
            check_stock(cleaned["measures"])
        except InputError as error:
            self.add_error(None, error.message)
        return cleaned

    def refuse_gaps(self, cleaned: Mapping[str, Any]) -> None:
        """Refuse a sheet of which something is not said."""
        if cleaned["kind"] == ROLL:
            return
        needed = ["columns", "rows"]
        needed += ["page_width", "page_height"] if cleaned["paper"] == OTHER else []
        for name in needed:
            if not cleaned[name]:
                self.add_error(name, "A sheet needs this.")


def measures_from(cleaned: Mapping[str, Any]) -> StockMeasures:
    """Return the measures that were typed; what was left empty follows from the others."""
    width, height = um(cleaned["width"]), um(cleaned["height"])
    if cleaned["kind"] == ROLL:
        return roll_measures(width_um=width, height_um=height, gap_um=um(cleaned["gap"] or 0))
    page = SIZES.get(cleaned["paper"] or "letter")
    page_width, page_height = page or (um(cleaned["page_width"]), um(cleaned["page_height"]))
    columns, rows = cleaned["columns"], cleaned["rows"]
    pitch_x = um(cleaned["pitch_x"]) if cleaned["pitch_x"] else width
    pitch_y = um(cleaned["pitch_y"]) if cleaned["pitch_y"] else height
    return StockMeasures(
        is_roll=False,
        page_width_um=page_width,
        page_height_um=page_height,
        width_um=width,
        height_um=height,
        columns=columns,
        rows=rows,
        left_um=margin(cleaned["left"], page_width - (columns - 1) * pitch_x - width),
        top_um=margin(cleaned["top"], page_height - (rows - 1) * pitch_y - height),
        pitch_x_um=pitch_x,
        pitch_y_um=pitch_y,
    )


def um(length: Decimal | int) -> int:
    """Return millimetres as whole micrometres."""
    return int(length * UM)


def margin(typed: Decimal | None, spare_um: int) -> int:
    """Return the margin that was typed, or half of what is spare."""
    return max(0, spare_um // 2) if typed is None else um(typed)


def initial_of(own: OwnStock) -> dict[str, Any]:
    """Return what a stock's form is filled in with."""
    page = (own.page_width_um, own.page_height_um)
    lengths = ("width", "height", "pitch_x", "pitch_y", "left", "top", "page_width", "page_height")
    filled = {name: plain_mm(getattr(own, f"{name}_um")) for name in lengths}
    return filled | {
        "kind": ROLL if own.is_roll else SHEET,
        "form": own.form,
        "gap": plain_mm(own.page_height_um - own.height_um) if own.is_roll else "",
        "paper": PAPERS[page].lower() if page in PAPERS else OTHER,
        "columns": own.columns,
        "rows": own.rows,
    }


def plain_mm(length_um: int) -> str:
    """Write a length as a number of millimetres."""
    return mm(length_um).removesuffix(" mm")


class AdjustForm(forms.Form):
    """Ask on which printer a stock is printed, and how far all on it is to be moved."""

    right = millimetres(
        "Move all to the right",
        places=1,
        min_value=-500,
        initial=0,
        help_text="0.3 moves it three tenths to the right, -0.3 to the left.",
    )
    down = millimetres(
        "Move all down",
        places=1,
        min_value=-500,
        initial=0,
        help_text="0.3 moves it three tenths down, -0.3 up.",
    )

    def __init__(self, *args: Any, printers: list[Printer], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        known = [(str(one.pk), one.name) for one in printers]
        self.fields["printer"] = forms.ChoiceField(
            label="Printed on", required=False, choices=[("", "Any printer"), *known]
        )
        self.order_fields(["printer", "right", "down"])

    def values(self) -> dict[str, Any]:
        """Return what the action takes."""
        cleaned = self.cleaned_data
        return {
            "printer_id": int(cleaned["printer"]) if cleaned["printer"] else None,
            "right_tenths": tenths(cleaned["right"]),
            "down_tenths": tenths(cleaned["down"]),
        }


def tenths(length: Decimal) -> int:
    """Return millimetres as whole tenths."""
    return int(length * 10)


class PrinterForm(forms.Form):
    """Ask for a printer's name and how fine it prints."""

    name = forms.CharField(
        label="Name", max_length=40, help_text="As everybody calls it: office, label printer."
    )
    dpi = forms.TypedChoiceField(
        label="Dots to the inch",
        choices=list(DPIS.items()),
        coerce=int,
        initial=300,
        widget=forms.RadioSelect,
        help_text="On its box or data sheet. QR codes are made of whole dots.",
    )


class MeasureForm(forms.Form):
    """Ask what a ruler finds on a printer's check sheet."""

    across = millimetres("Length of the bar across", places=1)
    down = millimetres("Length of the bar down", places=1)
    left = millimetres("From the paper's left edge to the upright bar", places=1)
    top = millimetres("From the paper's top edge to the level bar", places=1)
    stock = forms.CharField(widget=forms.HiddenInput, max_length=40, label="Label sheet")

    def measures(self) -> Measures:
        """Return what was measured."""
        cleaned = self.cleaned_data
        return Measures(
            across_tenths=tenths(cleaned["across"]),
            down_tenths=tenths(cleaned["down"]),
            left_tenths=tenths(cleaned["left"]),
            top_tenths=tenths(cleaned["top"]),
        )


def measured_initial(printer: Printer, *, check: Check) -> dict[str, Any]:
    """Return what was measured on the same check sheet, or what a true printer would show."""
    same = (printer.bar_mm, printer.corner_mm) == (check.bar_mm, check.corner_mm)
    if printer.measured_at and same:
        found = ("across_tenths", "down_tenths", "left_tenths", "top_tenths")
        return {name[: -len("_tenths")]: getattr(printer, name) / 10 for name in found}
    bar, corner = check.bar_mm, check.corner_mm
    return {"across": bar, "down": bar, "left": corner, "top": corner}
