"""The scripts that measure agree with the rules, number by number."""

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, Page

from fraginv.growth.rules import heights, measuring, outlines
from fraginv.growth.rules.camera import Focal, Scale, View, view_by_hand
from fraginv.growth.rules.measuring import Height, Measured, measure_outline
from fraginv.growth.rules.outlines import area_mm2, crosses_itself, feret_mm, smooth
from tests.growth.cameras import make_view
from tests.house.test_scripts import SITE, answer

pytestmark = pytest.mark.browser

SIGMAS = {
    "height": measuring.SIGMA_HEIGHT_MM,
    "offered": heights.SIGMA_OFFERED_MM,
    "offered_mm": [15.0],
    "water": measuring.SIGMA_WATER,
    "point": outlines.REVIEWED.point,
    "every": outlines.REVIEWED.every,
    "whole": outlines.REVIEWED.whole,
    "across": outlines.sigma_of_diameter(outlines.REVIEWED),
}
VIEWS = {
    "straight": make_view(),
    "tilted": make_view(tilt_deg=24, towards_deg=70, roll_deg=200, looks_at=(9, 4)),
    "bent": make_view(tilt_deg=12, towards_deg=200, distance_mm=190),
}


@pytest.fixture(scope="module")
def scripts(browser: Browser) -> Iterator[Page]:
    """An empty page beside the scripts."""
    page = browser.new_page()
    page.route("**/*", answer)
    page.goto(f"{SITE}/")
    yield page
    page.close()


def run(page: Page, module: str, call: str, *given: Any) -> Any:
    """Call what a module exports."""
    script = f"""async (given) => {{
        const module = await import('/static/js/measure/{module}.js');
        return ((m, g) => {call})(module, given);
    }}"""
    return page.evaluate(script, list(given))


def view_of(name: str) -> View:
    """Return a view; one of them bends."""
    kept = VIEWS[name].as_dict() | {"sigma_scale": 0.004}
    return View.of_dict(kept | {"bend": 0.02} if name == "bent" else kept)


def blob(points: int, *, seed: int = 2) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Return points around a coral, in mm."""
    chance = np.random.default_rng(seed)
    angle = np.sort(chance.uniform(0, 2 * np.pi, points))
    reach = chance.uniform(8, 14, points)
    return np.column_stack([np.cos(angle), np.sin(angle)]) * reach[:, None]


@pytest.mark.parametrize("name", VIEWS)
@pytest.mark.parametrize("height", [0.0, 13.5])
def test_pixels_and_millimetres(scripts: Page, name: str, height: float) -> None:
    view, points = view_of(name), blob(12)
    pixels = run(scripts, "view", "m.toPixels(...g)", view.as_dict(), points.tolist(), height)
    assert np.allclose(pixels, view.to_pixels(points, height), rtol=0, atol=1e-8)
    back = run(scripts, "view", "m.toPlane(...g)", view.as_dict(), pixels, height)
    assert np.allclose(back, view.to_plane(pixels, height), rtol=0, atol=1e-8)
    away = run(scripts, "view", "m.distance(g[0])", view.as_dict())
    assert away == pytest.approx(view.distance_mm)


def test_a_scale_set_by_hand(scripts: Page) -> None:
    ends, focal = [[200.0, 300.0], [900.0, 340.0]], Focal(1500.0, 0.06)
    lens = {"width": 2016, "height": 1512, "focal": {"px": 1500.0, "sigma": 0.06}}
    told = run(scripts, "view", "m.viewByHand(...g)", ends, 25, lens)
    true = view_by_hand(ends, length_mm=25, width=2016, height=1512, focal=focal)
    assert told["sigma_scale"] == pytest.approx(true.sigma_scale)
    assert told["translation"] == pytest.approx(true.translation)
    assert told["scale"] == Scale.HAND
    assert run(scripts, "view", "m.viewByHand(...g)", [[1, 1], [1, 1]], 25, lens) is None


@pytest.mark.parametrize("points", [3, 4, 9, 40])
def test_the_smooth_curve_and_its_size(scripts: Page, points: int) -> None:
    handles = blob(points)
    true = smooth(handles)
    curve = run(scripts, "outline", "m.smooth(g[0])", handles.tolist())
    assert np.allclose(curve, true, rtol=0, atol=1e-9)
    sizes = run(scripts, "outline", "[m.area(g[0]), m.feret(g[0])]", curve)
    assert sizes == pytest.approx([area_mm2(true), feret_mm(true)])


def test_the_same_point_twice_counts_once(scripts: Page) -> None:
    handles = np.vstack([blob(6), blob(6)[-1:]])
    curve = run(scripts, "outline", "m.smooth(g[0])", handles.tolist())
    assert np.allclose(curve, smooth(handles))
    assert run(scripts, "outline", "m.smooth(g[0])", [[1, 1], [1, 1], [1, 1]]) == []


@pytest.mark.parametrize("seed", range(12))
def test_outlines_that_cross_themselves(scripts: Page, seed: int) -> None:
    shuffled = np.random.default_rng(seed).permutation(blob(7, seed=seed))
    for points in (blob(7, seed=seed), shuffled):
        told = run(scripts, "outline", "m.crossesItself(g[0])", points.tolist())
        assert told == crosses_itself(points)


@pytest.mark.parametrize("name", VIEWS)
@pytest.mark.parametrize("through_water", [False, True])
@pytest.mark.parametrize(("mm", "sigma"), [(12.0, 1.0), (15.0, 3.0)], ids=["ruler", "offered"])
def test_sizes_and_how_sure_they_are(
    scripts: Page, name: str, through_water: bool, mm: float, sigma: float
) -> None:
    view = view_of(name)
    height = Height(mm, sigma, through_water)
    handles = view.to_pixels(blob(15), height.seen_mm)
    given = {
        "view": view.as_dict(),
        "height": mm,
        "throughWater": through_water,
        "sigmas": SIGMAS,
    }
    told = run(scripts, "figures", "m.measure(...g)", handles.tolist(), given)
    curve = view.to_pixels(smooth(view.to_plane(handles, height.seen_mm)), height.seen_mm)
    true = measure_outline(view, outline_px=curve, height=height)
    assert isinstance(true, Measured)
    names = ("area_mm2", "diameter_mm", "sigma_area_mm2", "sigma_diameter_mm")
    told_sizes = [told[key] for key in ("area", "diameter", "sigmaArea", "sigmaDiameter")]
    assert told_sizes == pytest.approx([getattr(true, each) for each in names], rel=1e-9)
    assert np.allclose(told["curve"], curve, atol=1e-6)


def test_what_cannot_be_measured_has_no_size(scripts: Page) -> None:
    view = view_of("straight")
    given = {"view": view.as_dict(), "height": 5, "throughWater": False, "sigmas": SIGMAS}
    handles = view.to_pixels(blob(5), 5).tolist()
    for changed in ({"height": None}, {"height": 900}, {"view": None}):
        call = "m.measure(g[0], {...g[1], height: g[1].height ?? NaN})"
        assert run(scripts, "figures", call, handles, given | changed) is None
    assert run(scripts, "figures", "m.measure(...g)", handles[:2], given) is None


def test_every_change_can_be_taken_back(scripts: Page) -> None:
    call = """(() => {
        const told = [];
        const model = m.makeModel({}, () => told.push(1));
        model.begin(); model.outline([[0, 0], [4, 0], [4, 4]], 'suggested');
        model.begin(); model.insert(1, [2, -1]); model.move(1, [2, -2]);
        model.begin(); model.addHead([1, 1]);
        const after = [model.handles.length, model.by, model.heads.length];
        model.undo(); model.undo();
        const before = [model.handles.length, model.by, model.heads.length];
        model.redo(); model.redo();
        const again = [model.handles.length, model.handles[1], model.heads.length];
        model.undo(); model.undo(); model.undo(); model.undo();
        return [after, before, again, model.handles.length, model.canUndo, model.canRedo];
    })()"""
    assert run(scripts, "model", call) == [
        [4, "adjusted", 1],
        [3, "suggested", 0],
        [4, [2, -2], 1],
        0,
        False,
        True,
    ]
