"""Files that a command hands over."""

from pathlib import Path

import pytest

from fraginv.base.errors import InputError
from fraginv.base.writing import write_whole


def test_a_file_is_written_and_written_over(tmp_path: Path) -> None:
    file = tmp_path / "sheet.pdf"
    for data in (b"first", b"second"):
        write_whole(file, data)
        assert file.read_bytes() == data
    assert list(tmp_path.iterdir()) == [file]


def test_a_folder_and_a_missing_folder_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is a folder"):
        write_whole(tmp_path, b"x")
    with pytest.raises(InputError, match="cannot be written: No such file"):
        write_whole(tmp_path / "nowhere" / "sheet.pdf", b"x")
    assert list(tmp_path.iterdir()) == []
