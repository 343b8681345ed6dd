"""The backup of every night: its two places, what is kept, and a clock that jumps."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from pytest_django import Settings

from fraginv.base import clock
from fraginv.base.actions.files import store_picture
from fraginv.base.errors import FraginvError
from fraginv.base.models import Organisation
from fraginv.base.queries.files import kept_names, storage_for
from fraginv.upkeep.actions.nightly import back_up_nightly
from fraginv.upkeep.models import Backup
from fraginv.upkeep.queries.backups import age_of_last_good, last_good_backup
from tests.base.test_pictures import make_picture
from tests.empty import PG_PROGRAMS
from tests.upkeep.archives import manifest_of, no_file_larger_than

pytestmark = pytest.mark.django_db

NIGHT = datetime(2026, 11, 25, 8, 10, tzinfo=UTC)
KEEP = 2


@pytest.fixture(autouse=True)
def places(settings: Settings, tmp_path: Path) -> tuple[Path, Path]:
    """Two folders of this test's own; only the first is there, as where no disk is mounted."""
    first, second = tmp_path / "first", tmp_path / "second"
    settings.ENVIRONMENT = replace(
        settings.ENVIRONMENT,
        backups=first,
        backups_second=second,
        backups_keep=KEEP,
        pg_programs=PG_PROGRAMS,
    )
    return first, second


def on(night: int) -> Backup:
    """Make the backup of a night, counted from the first."""
    with clock.at(NIGHT + timedelta(days=night)):
        return back_up_nightly()


def names(folder: Path) -> list[str]:
    return sorted(file.name for file in folder.iterdir())


def name_of(night: int) -> str:
    return f"fraginv-{NIGHT + timedelta(days=night):%Y-%m-%d}-081000.zip"


def test_both_places_keep_the_newest_and_nothing_foreign_goes(
    organisation: Organisation, places: tuple[Path, Path]
) -> None:
    first, second = places
    row = on(0)
    assert (row.how, row.problem, row.copied) == ("night", "", False)
    assert "is not there. Mount its disk" in row.second_problem
    assert not second.exists()
    assert last_good_backup() == row
    second.mkdir()
    foreign = second / "fraginv-2020-01-01-old.zip"
    foreign.write_text("somebody's own")
    for night in (1, 2, 3):
        row = on(night)
        assert (row.copied, row.second_problem) == (True, "")
    assert names(first) == [name_of(2), name_of(3)]
    assert names(second) == [foreign.name, name_of(2), name_of(3)]
    assert (first / name_of(3)).read_bytes() == (second / name_of(3)).read_bytes()
    with clock.at(NIGHT + timedelta(days=4)):
        assert age_of_last_good() == timedelta(days=1)


def test_a_clock_that_jumps_back_takes_nothing_away(
    organisation: Organisation, places: tuple[Path, Path]
) -> None:
    for night in (3, 4):
        on(night)
    row = on(2)
    assert names(places[0]) == [name_of(2), name_of(3), name_of(4)]
    assert row.file.endswith(name_of(2))
    with pytest.raises(FraginvError, match="exists already"):
        on(3)
    assert names(places[0]) == [name_of(2), name_of(3), name_of(4)]
    with clock.at(NIGHT):
        assert age_of_last_good() == timedelta()


def test_one_that_fails_is_written_down_and_the_last_good_one_stays(
    organisation: Organisation, places: tuple[Path, Path]
) -> None:
    good = [on(night) for night in (0, 1)][-1]
    for night in (2, 3, 4):
        with no_file_larger_than(500), pytest.raises(FraginvError):
            on(night)
    assert names(places[0]) == [name_of(0), name_of(1)]
    assert last_good_backup() == good


def test_one_that_lacks_files_says_so_in_its_name_and_pushes_out_no_good_one(
    organisation: Organisation, places: tuple[Path, Path]
) -> None:
    places[1].mkdir()
    photo = store_picture(make_picture(size=(300, 200)))
    good = [on(night) for night in (0, 1)]
    lost = kept_names(photo.sha256, media_type=photo.media_type)[1]
    storage_for(private=False).delete(lost)
    rows = [on(night) for night in (2, 3, 4)]
    assert all(lost in row.problem for row in rows)
    assert last_good_backup() == good[-1]
    kept = [name_of(0), name_of(1)]
    kept += [name_of(night).replace(".zip", "-incomplete.zip") for night in (3, 4)]
    assert names(places[0]) == names(places[1]) == sorted(kept)
    assert lost in manifest_of(places[0] / kept[-1])["problems"][0]


def test_parts_that_a_power_cut_left_go_after_a_day(
    organisation: Organisation, places: tuple[Path, Path]
) -> None:
    places[0].mkdir()
    (places[0] / f".{name_of(0)}.0a1b2c3d.part").touch()
    (places[0] / ".notes.part").touch()
    with clock.at(datetime.now(UTC) + timedelta(hours=2)):
        back_up_nightly()
    assert len(names(places[0])) == 3
    with clock.at(datetime.now(UTC) + timedelta(days=2)):
        back_up_nightly()
    assert [name for name in names(places[0]) if name.endswith(".part")] == [".notes.part"]


def test_without_a_second_place_none_is_missed(
    organisation: Organisation, settings: Settings
) -> None:
    settings.ENVIRONMENT = replace(settings.ENVIRONMENT, backups_second=None)
    row = on(0)
    assert (row.copied, row.second_problem) == (False, "")


def test_what_cannot_be_removed_is_logged_and_stops_nothing(
    organisation: Organisation, places: tuple[Path, Path], caplog: pytest.LogCaptureFixture
) -> None:
    stuck = places[0] / "fraginv-2020-01-01-000000.zip"
    stuck.mkdir(parents=True)
    (places[0] / f".{name_of(0)}.0a1b2c3d.part").symlink_to("nowhere")
    rows = [on(night) for night in (0, 1)]
    assert [row.problem for row in rows] == ["", ""]
    assert stuck.exists()
    assert "An old backup could not be removed: Is a directory" in caplog.text
