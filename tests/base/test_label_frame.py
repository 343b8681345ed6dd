"""The line around a label's symbol, from what is kept of the symbol."""

import pytest

from fraginv.base.rules.label_frame import LINE_MM, LabelFrame


def test_a_worked_example() -> None:
    # By hand: 25 modules of 0.6 mm; four of them on each side are white (ISO/IEC 18004), then
    # comes the line of 0.4 mm: 15 + 2 × 2.4 = 19.8 mm within, 20.6 mm around.
    frame = LabelFrame(15.0, 25)
    assert frame.module_mm == pytest.approx(0.6)
    assert frame.quiet_mm == pytest.approx(2.4)
    assert (frame.inner.left_mm, frame.inner.top_mm) == pytest.approx((-2.4, -2.4))
    assert (frame.inner.width_mm, frame.inner.height_mm) == pytest.approx((19.8, 19.8))
    assert frame.outer.corners[0] == pytest.approx((-2.8, -2.8))
    assert frame.outer.corners[2] == pytest.approx((17.8, 17.8))
    assert frame.outer.width_mm - frame.inner.width_mm == pytest.approx(2 * LINE_MM)


@pytest.mark.parametrize(
    ("symbol_mm", "modules", "can"),
    [(15.0, 25, True), (16.93, 25, True), (14.82, 25, False), (17.4, 29, True), (14.7, 29, False)],
)
def test_by_fine_modules_nothing_is_measured(symbol_mm: float, modules: int, can: bool) -> None:
    assert LabelFrame(symbol_mm, modules).can_measure is can
