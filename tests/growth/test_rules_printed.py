"""Which of the sizes at which a code was printed a photo shows."""

import pytest

from fraginv.base.queries.codes import SymbolSize
from fraginv.growth.rules.printed import Side, side_of
from fraginv.growth.rules.problems import LABEL_SIZES_DIFFER

DIFFER = (LABEL_SIZES_DIFFER,)


@pytest.mark.parametrize(
    ("sizes", "version", "side"),
    [
        pytest.param([], 2, Side(), id="never printed"),
        pytest.param([(16.9, 25)], 2, Side(16.9), id="once"),
        pytest.param([(16.9, 29)], 2, Side(), id="another symbol, of an earlier host"),
        pytest.param([(16.9, None)], 2, Side(16.9), id="from before modules were kept"),
        pytest.param([(16.9, 25), (19.6, 29)], 3, Side(19.6), id="the older one is seen"),
        pytest.param([(16.9, 25), (12.7, 25)], 2, Side(16.9, DIFFER), id="nobody knows which"),
        pytest.param([(16.93, 25), (16.92, 25)], 2, Side(16.93), id="alike"),
    ],
)
def test_the_size_that_fits_what_was_read(
    sizes: list[tuple[float, int | None]], version: int, side: Side
) -> None:
    assert side_of([SymbolSize(*size) for size in sizes], version=version) == side
