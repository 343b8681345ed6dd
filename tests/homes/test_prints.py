"""Pictures of a kept home get the size for papers that they lack."""

from pathlib import Path

import pytest

from tests.empty import home_under_test
from tests.house.tree import ROOT

MAKE = "from fraginv.base.actions.prints import make_prints; print(make_prints(limit=1))"
LEFT = "from fraginv.base.queries.files import without_print; print(without_print().count())"


@pytest.mark.usefixtures("db")
def test_an_old_houses_pictures_catch_up_in_portions(tmp_path: Path) -> None:
    with home_under_test(tmp_path / "home") as line:
        line.told("restore", ROOT / "fixtures" / "homes" / "A.zip")
        count = int(line.python(LEFT))
        assert count >= 2
        for left in range(count - 1, -1, -1):
            assert line.python(MAKE).strip() == "1"
            assert int(line.python(LEFT)) == left
        assert line.python(MAKE).strip() == "0"
        assert line.told("verify")["differences"] == []
