"""One size is told alike wherever it is told: the same unit, the same digits."""

import pytest

from fraginv.growth.management.commands.read import line_of
from fraginv.growth.rules.drawn import Method, Sized, said_of
from fraginv.growth.rules.growth import Known
from fraginv.growth.rules.said import with_error
from fraginv.growth.rules.told import FragTold


@pytest.mark.parametrize(
    ("area", "sigma", "value", "error"),
    [(160.4, 2.1, "1.60", "0.02"), (160.4, 12.4, "1.60", "0.12"), (998.6, 41.0, "9.99", "0.41")],
)
def test_an_area_has_the_same_digits_everywhere(
    area: float, sigma: float, value: str, error: str
) -> None:
    """It was ± 0.02 cm² where it was measured, ± 0.1 on the frag's page, ± 12 mm² in a command."""
    stored = Sized(Method.OUTLINE, area_mm2=area, sigma_area_mm2=sigma, diameter_mm=17.0)
    told = FragTold("", area, 17.0, sigma, "card", 15.0, (), "suggested")
    said = f"{value} cm² projected (± {error} cm²)"
    assert said in said_of(stored)
    assert said in line_of(told)
    assert with_error(Known(area / 100, sigma / 100), 2) == f"{value} ± {error}"
