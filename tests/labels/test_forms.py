"""Labels of every form, as a printer gets them: rendered, read back, and measured."""

from dataclasses import replace
from math import ceil, floor

import pytest

from fraginv.base.errors import InputError
from fraginv.base.rules.codes import address
from fraginv.base.rules.label_frame import LEAST_MEASURED_MODULE_MM
from fraginv.labels.rules.fitting import LEAST_MODULE_MM, box_mm, fit_symbol
from fraginv.labels.rules.forms import (
    EDGE_MM,
    FOLD_MM,
    FORM_NAMES,
    FORM_NOTES,
    FORMS,
    room_for_symbol_mm,
)
from fraginv.labels.rules.layout import Layout
from fraginv.labels.rules.parts import Label
from fraginv.labels.rules.stocks import A4, LETTER, LabelStock
from fraginv.labels.rules.words import FULL_CAUTIONS, PALYTOXIN
from tests.base.papers import page_sizes_mm, symbols_of, texts_of, words_of
from tests.labels.test_sheets import HOST, codes, labels_of_all_sorts, laid_out, pdf_of

EACH = pytest.mark.parametrize("form", FORM_NAMES)
BOTH = pytest.mark.parametrize("base", [LETTER, A4], ids=["letter", "a4"])
# How often the symbol stands on a label of a form.
FACES = {form: 2 if form == "flag" else 1 for form in FORM_NAMES}
ROLL = LabelStock(
    name="roll-70x32",
    paper="Roll",
    page_width_mm=70,
    page_height_mm=35,
    width_mm=70,
    height_mm=32,
    columns=1,
    rows=1,
    left_mm=0,
    top_mm=0,
    pitch_x_mm=70,
    pitch_y_mm=35,
    dpi=203,
    is_roll=True,
)
TAG = Label(code="7K3Q9FN", title="Ember Tide", detail="Cut Nov 12, 2026", caution=PALYTOXIN)


def of_form(form: str, base: LabelStock, labels: list[Label]) -> Layout:
    """Lay labels out in a form."""
    return laid_out(labels, stock=replace(base, form=form))


def test_each_form_has_its_words() -> None:
    assert set(FORMS) == set(FORM_NOTES)


@EACH
@BOTH
def test_every_symbol_is_read_back(form: str, base: LabelStock) -> None:
    labels = labels_of_all_sorts(base.per_sheet + 2)
    first, second = symbols_of(pdf_of(of_form(form, base, labels)))
    asked = [address(HOST, label.code) for label in labels]
    assert sorted(one.text for one in first) == sorted(asked[: base.per_sheet] * FACES[form])
    assert sorted(one.text for one in second) == sorted(asked[base.per_sheet :] * FACES[form])


@EACH
@BOTH
def test_symbols_stay_on_their_label_and_off_its_words(form: str, base: LabelStock) -> None:
    layout = of_form(form, base, labels_of_all_sorts(4))
    box = layout.fit.box_mm
    assert len(layout.plan.symbols) == FACES[form]
    for x, y in layout.plan.symbols:
        assert min(x, y) >= EDGE_MM - 1e-6
        assert x + box <= base.width_mm - EDGE_MM + 1e-6
        assert y + box <= base.height_mm - EDGE_MM + 1e-6
        for line in layout.plan.lines.values():
            # Capitals are about seven tenths of their size high: common practice, no source.
            half = 0.36 * line.size_pt * 25.4 / 72
            beside = line.left_mm >= x + box or line.left_mm + line.width_mm <= x
            assert beside or line.middle_mm - half >= y + box


@EACH
@BOTH
def test_words_stay_on_their_label(form: str, base: LabelStock) -> None:
    layout = of_form(form, base, labels_of_all_sorts(base.per_sheet))
    for line in layout.plan.lines.values():
        half = 0.36 * line.size_pt * 25.4 / 72
        assert line.middle_mm - half >= EDGE_MM - 0.01
        assert line.middle_mm + half <= base.height_mm - EDGE_MM + 0.01
        assert 0 < line.left_mm < line.left_mm + line.width_mm <= base.width_mm
    rows = [base.place(index * base.columns).y_mm for index in range(base.rows)]
    for words in words_of(pdf_of(layout)):
        (row,) = [y for y in rows if y <= words.y_mm < y + base.pitch_y_mm]
        assert words.y_mm <= row + base.height_mm - EDGE_MM


@EACH
def test_no_line_runs_into_the_next(form: str) -> None:
    by_left: dict[float, list[tuple[float, float]]] = {}
    for kind, line in of_form(form, LETTER, [TAG]).plan.lines.items():
        if kind != "short":  # stands in the second title's place
            half = 0.36 * line.size_pt * 25.4 / 72
            by_left.setdefault(round(line.left_mm), []).append((line.middle_mm, half))
    for column in by_left.values():
        column.sort()
        for (upper, half), (lower, next_half) in zip(column, column[1:], strict=False):
            assert upper + half <= lower - next_half


@EACH
def test_variety_and_the_last_three_characters_stand_on_it(form: str) -> None:
    pdf = pdf_of(of_form(form, A4, [TAG]))
    (text,) = texts_of(pdf)
    assert text.count("Ember Tide") == FACES[form]
    if form == "plain":
        assert "7K3-Q9F-N" in text
        return
    ends = [words for words in words_of(pdf) if words.text == "9FN"]
    assert len(ends) == FACES[form]
    others = [words.size_pt for words in words_of(pdf) if words.text != "9FN"]
    assert min(words.size_pt for words in ends) > max(others)
    assert min(words.size_pt for words in ends) >= 12


@EACH
def test_the_caution_stands_on_plain_labels_and_bags(form: str) -> None:
    (text,) = texts_of(pdf_of(of_form(form, A4, [TAG, Label(code="0000002", title="Other")])))
    assert text.count("PALYTOXIN") == (1 if form in {"plain", "bag"} else 0)


@pytest.mark.parametrize(("width", "words"), [(66.7, "gloves"), (100.0, "eye protection")])
def test_a_bag_says_as_much_of_the_caution_as_fits_uncut(width: float, words: str) -> None:
    stock = replace(LETTER, form="bag", columns=1, width_mm=width)
    (text,) = texts_of(pdf_of(laid_out([TAG], stock=stock)))
    said = " ".join(text.split())
    (found,) = [one for one in FULL_CAUTIONS[PALYTOXIN] if one in said]
    assert words in found
    assert "heat" in found


def test_a_folded_flag_has_nothing_where_the_stick_lies() -> None:
    for form in ("flag", "strip"):
        plan = of_form(form, A4, [TAG]).plan
        middle = A4.width_mm / 2
        for line in plan.lines.values():
            assert line.left_mm >= middle + FOLD_MM - 1e-6 or (
                line.left_mm + line.width_mm <= middle - FOLD_MM + 1e-6
            )
        assert plan.marks


@EACH
def test_a_roll_has_a_page_for_each_label(form: str) -> None:
    labels = labels_of_all_sorts(5)
    pdf = pdf_of(laid_out(labels, stock=replace(ROLL, form=form)))
    assert page_sizes_mm(pdf) == [(70, 35)] * 5
    for page, label in zip(symbols_of(pdf), labels, strict=True):
        assert {one.text for one in page} == {address(HOST, label.code)}
        lowest = max(y for one in page for _, y in one.corners) / 300 * 25.4
        assert lowest < 32


@pytest.mark.parametrize("dpi", [203, 300, 600, 1200])
@EACH
def test_modules_are_whole_dots_of_the_printer(form: str, dpi: int) -> None:
    # Half a millimetre for a module of a label that gets wet: common practice, no source.
    # Four dots at least: advice of the symbol's makers, table of cell sizes.
    fit = fit_symbol(replace(A4, form=form, dpi=dpi), host=HOST)
    dots = fit.module_mm * dpi / 25.4
    if fit.module_mm == LEAST_MEASURED_MODULE_MM:
        # Whole dots would be too fine to measure by, and one more would not fit.
        assert 6 <= dots < round(dots) + 0.5
        assert floor(dots) * 25.4 / dpi < 0.6
        wider = box_mm(fit.modules, module_mm=ceil(dots) * 25.4 / dpi)
        assert wider > room_for_symbol_mm(replace(A4, form=form))
    else:
        assert dots == pytest.approx(round(dots))
    assert dots > 3.9
    assert fit.module_mm >= LEAST_MODULE_MM


@EACH
def test_labels_that_are_too_small_are_refused_with_what_to_do(form: str) -> None:
    low = replace(LETTER, form=form, height_mm=12.0)
    with pytest.raises(InputError, match="too low for the form.*Choose another form, or higher"):
        fit_symbol(low, host=HOST)
    narrow = replace(LETTER, form=form, width_mm=25.0, height_mm=25.4)
    if form != "tile":
        with pytest.raises(InputError, match="too small for the form.*or larger labels"):
            fit_symbol(narrow, host=HOST)


def test_a_blank_label_of_any_form_has_a_line_to_write_on() -> None:
    for form in FORM_NAMES:
        label = Label(code=codes(1)[0], detail="Roll 3, no. 12", to_write_on=True)
        plan = of_form(form, A4, [label]).plan
        assert plan.writing is not None
        left, top, width = plan.writing
        assert left + width <= A4.width_mm
        assert EDGE_MM < top < A4.height_mm - EDGE_MM
