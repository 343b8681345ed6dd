"""Sheets and rolls of labels, described by their measures."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from fraginv.base.errors import InputError


@dataclass(frozen=True, slots=True)
class Place:
    """Say where one label lies: its sheet (from 0) and its top left corner in mm."""

    sheet: int
    row: int
    column: int
    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True)
class LabelStock:
    """Describe one kind of label sheet or roll; all measures in millimetres.

    Labels are counted from 0 at the top left, row by row. A pitch runs from one
    label's corner to the next one's. On a roll each label is a page. ``form`` is
    how its labels are laid out, ``dpi`` how many dots an inch the printer has.
    """

    name: str
    paper: str
    page_width_mm: float
    page_height_mm: float
    width_mm: float
    height_mm: float
    columns: int
    rows: int
    left_mm: float
    top_mm: float
    pitch_x_mm: float
    pitch_y_mm: float
    form: str = "plain"
    dpi: int = 300
    is_roll: bool = False

    @property
    def per_sheet(self) -> int:
        """Return how many labels one sheet has."""
        return self.columns * self.rows

    @property
    def title(self) -> str:
        """Return the stock's measures in words."""
        size = f"{self.width_mm:.1f} × {self.height_mm:.1f} mm"
        if self.is_roll:
            return f"{self.paper} of labels, {size}"
        return f"{self.paper} sheet, {self.columns} × {self.rows} labels of {size}"

    @property
    def is_of_the_house(self) -> bool:
        """Tell whether the house knows the stock by itself."""
        return self.name in STOCKS

    @property
    def unit(self) -> str:
        """Return what comes out of the printer at a time: a sheet, or one label of a roll."""
        return "label" if self.is_roll else "sheet"

    def place(self, index: int) -> Place:
        """Return where the label with this index lies; later sheets follow the first."""
        sheet, on_sheet = divmod(index, self.per_sheet)
        row, column = divmod(on_sheet, self.columns)
        return Place(
            sheet=sheet,
            row=row,
            column=column,
            x_mm=self.left_mm + column * self.pitch_x_mm,
            y_mm=self.top_mm + row * self.pitch_y_mm,
        )


# Measures in use on many sheets sold for printers: common practice, no source.
LETTER = LabelStock(
    name="letter-66.7x25.4",
    paper="Letter",
    page_width_mm=215.9,
    page_height_mm=279.4,
    width_mm=66.675,
    height_mm=25.4,
    columns=3,
    rows=10,
    left_mm=4.7625,
    top_mm=12.7,
    pitch_x_mm=69.85,
    pitch_y_mm=25.4,
)
A4 = LabelStock(
    name="a4-63.5x33.9",
    paper="A4",
    page_width_mm=210.0,
    page_height_mm=297.0,
    width_mm=63.5,
    height_mm=33.9,
    columns=3,
    rows=8,
    left_mm=7.25,
    top_mm=12.9,
    pitch_x_mm=66.0,
    pitch_y_mm=33.9,
)

STOCKS: Mapping[str, LabelStock] = MappingProxyType({stock.name: stock for stock in (LETTER, A4)})


def stock_named(name: str, *, among: Mapping[str, LabelStock] = STOCKS) -> LabelStock:
    """Return the label stock of that name.

    Args: ``among`` which stocks, by default those that the house knows by itself.
    Raises: InputError naming the stocks that there are.
    """
    found = among.get(name.strip().lower())
    if found is None:
        raise InputError(f"There is no label stock “{name}”. Use one of: {', '.join(among)}.")
    return found


def stock_for_paper(paper: str) -> LabelStock:
    """Return the stock to propose to an organisation that uses ``letter`` or ``a4`` paper."""
    return A4 if paper.lower() == "a4" else LETTER


def gone_after(skip: int, count: int, *, stock: LabelStock) -> int:
    """Return how many labels are gone from the last sheet of a run; 0 of a roll or a full sheet.

    Args: ``skip`` were gone from the first sheet, ``count`` were printed.
    """
    return 0 if stock.is_roll else (skip + count) % stock.per_sheet


def check_skip(skip: int, *, stock: LabelStock) -> None:
    """Refuse to skip a negative number of labels, or a whole sheet.

    Raises: InputError.
    """
    if stock.is_roll and skip:
        raise InputError(
            "A roll has no sheet of which labels are gone: skip 0, and begin at its next label."
        )
    if not 0 <= skip < stock.per_sheet:
        raise InputError(
            f"{skip} labels cannot be skipped: a sheet of this stock has {stock.per_sheet}, so skip"
            f" 0 to {stock.per_sheet - 1}, as many as are gone from the first sheet."
        )
