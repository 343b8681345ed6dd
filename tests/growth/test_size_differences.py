"""What ``verify`` says of sizes: nothing of what was measured, each thing that was changed."""

import pytest
from django.db import connection

from fraginv.base.models import Person
from fraginv.growth.actions.measuring import save_measurement
from fraginv.growth.models import Measurement
from fraginv.growth.queries.measuring import sized
from fraginv.growth.queries.sights import subject_of
from fraginv.growth.queries.size_differences import size_differences
from fraginv.growth.rules.drawn import Drawn
from fraginv.stock.actions.looks import note_size
from tests.factories import make_frag
from tests.growth.shots import HEIGHT_MM, file_shot


@pytest.fixture
def measured(grower: Person) -> Measurement:
    frag = make_frag(grower)
    shot = file_shot(frag, by=grower)
    subject = subject_of(shot.photo.pk, mark=shot.photo.mark)
    points = tuple((float(x), float(y)) for x, y in shot.true.outline_px[::8])
    drawn = Drawn(height_mm=HEIGHT_MM, handles_px=points)
    return save_measurement(shot.photo, sized=sized(subject, drawn=drawn), by=grower)


def said() -> list[str]:
    return [difference.what for difference in size_differences()]


def test_what_was_measured_agrees(measured: Measurement, grower: Person) -> None:
    assert said() == []
    heads = file_shot(make_frag(grower), by=grower).photo
    subject = subject_of(heads.pk, mark=heads.mark)
    counted = sized(subject, drawn=Drawn(heads_px=((10.0, 10.0), (20.0, 20.0))))
    save_measurement(heads, sized=counted, by=grower)
    assert said() == []


def test_an_area_that_was_changed(measured: Measurement) -> None:
    Measurement.objects.update(area_mm2=(measured.area_mm2 or 0) * 1.1)
    enclosed, logged = said()
    assert "its outline does not enclose" in enclosed
    assert f"and measurement {measured.pk}" in logged


def test_an_outline_that_was_changed(measured: Measurement) -> None:
    Measurement.objects.update(outline_mm=[[0, 0], [1, 0], "?"])
    assert len(said()) == 1


def test_a_size_of_another_frag(measured: Measurement, grower: Person) -> None:
    Measurement.objects.update(frag=make_frag(grower))
    assert f"its photo {measured.photo_id} is not of that frag" in said()
    assert len(said()) == 2


def test_a_log_that_names_no_size_of_its_frag(measured: Measurement, grower: Person) -> None:
    note_size(measured.frag_id, measurement_id=0, size={"area_mm2": 1.0}, by=grower)
    (gone,) = said()
    assert "there is no such size" in gone


def test_a_size_that_no_log_names(measured: Measurement) -> None:
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM stock_fragevent WHERE kind = 'sized'")
    assert said() == [f"has measurement {measured.pk}, and its log does not say so"]
