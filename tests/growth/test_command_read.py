"""``read`` and ``file``: what photos tell, and where they are filed."""

import json
from dataclasses import replace
from io import StringIO
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from django.core.management import CommandError, call_command

from fraginv.base import clock
from fraginv.base.models import Code, Person
from fraginv.growth.models import Incoming, Measurement, Photo
from fraginv.growth.rules.camera import Focal
from fraginv.growth.seeing.finding import place_of_frag
from fraginv.growth.seeing.reading import read_labels
from fraginv.growth.seeing.sights import view_of_label
from tests.base.test_pictures import make_picture
from tests.factories import make_frag
from tests.growth.scenes.draws import card_scene, label_scene, plain_look
from tests.growth.scenes.render import photograph
from tests.growth.scenes.scene import Glare, Shot
from tests.growth.shots import print_at

pytestmark = pytest.mark.django_db
CARD_SEED, LABEL_SEED = 7002, 7003


@pytest.fixture(scope="module")
def on_card() -> Shot:
    return photograph(card_scene(CARD_SEED))


@pytest.fixture(scope="module")
def by_label() -> Shot:
    return photograph(label_scene(LABEL_SEED))


def run(name: str, *args: object) -> list[dict[str, Any]]:
    out = StringIO()
    call_command(name, *map(str, args), "--json", stdout=out)
    told: list[dict[str, Any]] = json.loads(out.getvalue())
    return told


def written(shot: Shot, folder: Path, name: str = "frag.jpg") -> Path:
    path = folder / name
    path.write_bytes(shot.jpeg())
    return path


def outline_file(shot: Shot, folder: Path, name: str = "frag.jpg") -> Path:
    path = folder / "outlines.json"
    path.write_text(json.dumps({name: shot.frag.outline_px.tolist()}))
    return path


@pytest.mark.parametrize("kind", ["on_card", "by_label"])
def test_a_given_outline_is_measured_true(
    kind: str, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    shot: Shot = request.getfixturevalue(kind)
    true, label = shot.frag, shot.label
    asked = ["--height", true.height_mm, "--symbol-mm", label.symbol_mm]
    asked += ["--outline", outline_file(shot, tmp_path)]
    (told,) = run("read", written(shot, tmp_path), *asked)
    assert told["file"] == "frag.jpg"
    assert told["codes"] == [label.code]
    (frag,) = told["frags"]
    assert frag["area_mm2"] == pytest.approx(true.area_mm2, rel=0.015)
    assert frag["diameter_mm"] == pytest.approx(true.diameter_mm, rel=0.01)
    assert abs(frag["area_mm2"] - true.area_mm2) < 3 * frag["sigma_area_mm2"]
    assert frag["scale"] == ("card" if kind == "on_card" else "label")
    assert (frag["height_mm"], frag["outline_by"]) == (true.height_mm, "given")


def test_a_lamp_inside_a_given_outline_is_said(tmp_path: Path) -> None:
    scene = card_scene(CARD_SEED)
    lamp = Glare(scene.frags[0].at_mm, size_mm=2.5, light=3.0)
    shot = photograph(replace(scene, glares=(lamp,), look=plain_look()))
    asked = ["--height", shot.frag.height_mm, "--outline", outline_file(shot, tmp_path)]
    (told,) = run("read", written(shot, tmp_path), *asked)
    assert any("white with glare" in said for said in told["problems"])


@pytest.mark.parametrize("kind", ["on_card", "by_label"])
def test_without_one_an_outline_is_suggested(
    kind: str, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    shot: Shot = request.getfixturevalue(kind)
    true = shot.frag
    asked = ["--height", true.height_mm, "--symbol-mm", shot.label.symbol_mm]
    (told,) = run("read", written(shot, tmp_path), *asked)
    (frag,) = told["frags"]
    assert (frag["outline_by"], len(frag["outline"]) > 20) == ("suggested", True)
    assert frag["area_mm2"] == pytest.approx(true.area_mm2, rel=0.1)


def test_nothing_is_filed_by_reading(on_card: Shot, tmp_path: Path) -> None:
    (told,) = run("read", written(on_card, tmp_path))
    assert told["frags"][0]["height_mm"] is None
    assert any("height" in said for said in told["problems"])
    assert any("none of ours" in said for said in told["problems"])
    assert (Photo.objects.count(), Incoming.objects.count()) == (0, 0)


def test_what_is_known_of_the_code_is_used(by_label: Shot, tmp_path: Path, grower: Person) -> None:
    frag, label = frag_with(by_label.label.code, grower), by_label.label
    print_at(frag, label.symbol_mm)
    (told,) = run("read", written(by_label, tmp_path))
    (usual,) = told["frags"]
    assert usual["height_mm"] == 9.0  # of a plug by its label, rules/heights.py
    (told,) = run("read", written(by_label, tmp_path), "--height", 9)
    (by_ruler,) = told["frags"]
    assert usual["sigma_area_mm2"] > 1.02 * by_ruler["sigma_area_mm2"]
    assert not any("none of ours" in said for said in told["problems"])


def test_a_label_of_unknown_size_measures_nothing(by_label: Shot, tmp_path: Path) -> None:
    (told,) = run("read", written(by_label, tmp_path))
    assert told["frags"] == []
    assert any("at what size this label was printed" in said for said in told["problems"])


def test_one_that_is_no_picture_is_told_among_others(on_card: Shot, tmp_path: Path) -> None:
    broken = tmp_path / "broken.jpg"
    broken.write_bytes(b"%PDF-1.7")
    out = StringIO()
    photos = [str(broken), str(tmp_path / "gone.jpg"), str(written(on_card, tmp_path))]
    with pytest.raises(CommandError, match="2 of 3 photos could not be read"):
        call_command("read", *photos, "--json", stdout=out)
    told = json.loads(out.getvalue())
    assert "a PDF" in told[0]["problems"][0]
    assert "No such file" in told[1]["problems"][0]
    assert told[2]["codes"]


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (["--height", "-1"], "give 0 to 150 mm"),
        (["--height", "nan"], "give 0 to 150 mm"),
        (["--symbol-mm", "0"], "width of one symbol"),
        (["--outline", "nowhere.json"], "cannot be read"),
    ],
)
def test_options_that_make_no_sense_are_refused(asked: list[str], said: str) -> None:
    with pytest.raises(CommandError, match=said):
        call_command("read", "frag.jpg", *asked)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[", "Write them as"),
        ('{"frag.jpg": 3}', "Write them as"),
        ("[[1, 2]]", "Write them as"),
        ('{"frag.jpg": [[1, 2], [3, 4]]}', "three different points"),
        ('{"frag.jpg": [[1, 2], [3, 4], [NaN, 1]]}', "three different points"),
    ],
)
def test_outlines_that_cannot_be_read_are_refused(text: str, said: str, tmp_path: Path) -> None:
    path = tmp_path / "o.json"
    path.write_text(text)
    with pytest.raises(CommandError, match=said):
        call_command("read", "frag.jpg", "--outline", str(path))


def frag_with(code: str, grower: Person) -> str:
    """Make a frag whose label carries a given code."""
    Code.objects.create(code=code, kind=Code.Kind.FRAG, made_at=clock.now())
    frag = make_frag(grower)
    type(frag).objects.filter(pk=frag.pk).update(code_id=code)
    return code


def test_a_photo_is_filed_by_its_label(on_card: Shot, tmp_path: Path, grower: Person) -> None:
    code = frag_with(on_card.label.code, grower)
    (told,) = run("file", written(on_card, tmp_path))
    assert (told["state"], told["filed_under"], told["codes"]) == ("filed", [code], [code])
    assert told["frags"][0]["outline_by"] == "suggested"
    assert Photo.objects.get().frag.code_id == code  # type: ignore[union-attr]
    assert not Measurement.objects.exists()  # until a person has looked at the outline
    (again,) = run("file", written(on_card, tmp_path))
    assert (again["state"], Photo.objects.count()) == ("filed", 1)


def test_what_shows_no_label_waits_in_the_tray(tmp_path: Path, grower: Person) -> None:
    plain, broken = tmp_path / "plain.jpg", tmp_path / "broken.jpg"
    plain.write_bytes(make_picture(size=(400, 300)))
    broken.write_bytes(make_picture(size=(400, 300))[:900])
    out = StringIO()
    with pytest.raises(CommandError, match="1 of 2 photos could not be taken"):
        call_command("file", str(plain), str(broken), "--json", stdout=out)
    told = json.loads(out.getvalue())
    assert [one["state"] for one in told] == ["tray", "refused"]
    assert Incoming.objects.get(state="tray").name == "plain.jpg"


def test_where_a_frag_stands_beside_its_label() -> None:
    found = []
    for seed in range(8100, 8116):
        shot = photograph(label_scene(seed))
        true, label = shot.frag, shot.label
        read = read_labels(shot.grey)
        if not read:
            continue
        focal = Focal(shot.camera.focal_px)
        sight = view_of_label(shot.grey, label=read[0], symbol_mm=label.symbol_mm, focal=focal)
        if sight.view is None:
            continue
        size = {"symbol_mm": label.symbol_mm, "height_mm": true.height_mm}
        place = place_of_frag(shot.rgb, sight.view, **size)
        if place is None:
            continue
        away = np.hypot(*(place - np.array(true.tap_px)))
        found.append(away < true.diameter_mm / 2 * sight.view.px_per_mm((0, 0)))
    assert len(found) > 10
    assert np.mean(found) > 0.8
