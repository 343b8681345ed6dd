"""Fonts for papers: found, cut once, kept in the home."""

from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from fraginv.base.fonts import (
    FontMissing,
    cut_face,
    find_file,
    installed_faces,
    paper_faces,
    text_width,
)


def test_both_weights_are_cut_once(tmp_path: Path) -> None:
    first = paper_faces(tmp_path)
    written = {weight: file.stat().st_mtime_ns for weight, file in first.items()}

    again = paper_faces(tmp_path)

    assert set(first) == {400, 600}
    assert again == first
    assert {weight: file.stat().st_mtime_ns for weight, file in again.items()} == written
    assert len(list((tmp_path / "fonts").iterdir())) == 2


def test_a_cut_is_latin_and_smaller(tmp_path: Path) -> None:
    source = installed_faces()[400]
    face = cut_face(source, tmp_path)

    with TTFont(face) as font:
        letters = font.getBestCmap()

    assert {ord(letter) for letter in "AZaz09ßéŁ€·…×"} <= set(letters)
    assert ord("Ж") not in letters
    assert face.stat().st_size < source.stat().st_size / 2


def test_the_same_source_gives_the_same_bytes(tmp_path: Path) -> None:
    source = installed_faces()[600]
    one = cut_face(source, tmp_path / "one")
    two = cut_face(source, tmp_path / "two")
    assert one.read_bytes() == two.read_bytes()


def test_a_missing_family_is_named_with_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(FontMissing, match=r"\.ci/setup.*fonts-inter"):
        installed_faces([tmp_path])


def test_an_incomplete_family_is_passed_over(tmp_path: Path) -> None:
    (tmp_path / "Inter-Regular.otf").touch()
    (tmp_path / "DejaVuSans.ttf").touch()
    (tmp_path / "DejaVuSans-Bold.ttf").touch()

    faces = installed_faces([tmp_path])

    assert [faces[weight].name for weight in (400, 600)] == [
        "DejaVuSans.ttf",
        "DejaVuSans-Bold.ttf",
    ]


def test_the_first_folder_wins(tmp_path: Path) -> None:
    for folder in ("a", "b/deep"):
        (tmp_path / folder).mkdir(parents=True)
        (tmp_path / folder / "Inter-Regular.ttf").touch()
    names = ("Inter-Regular.otf", "Inter-Regular.ttf")
    folders = [tmp_path / "none", tmp_path / "b", tmp_path / "a"]
    assert find_file(names, folders) == tmp_path / "b" / "deep" / "Inter-Regular.ttf"


def test_width_is_the_sum_of_the_advances(tmp_path: Path) -> None:
    face = cut_face(installed_faces()[400], tmp_path)
    with TTFont(face) as font:
        unit = font["head"].unitsPerEm
        name = font.getBestCmap()[ord("W")]
        advance = font["hmtx"].metrics[name][0] / unit
    assert text_width("WW", face=face) == pytest.approx(2 * advance)
    assert text_width("珊", face=face) == 1.0
