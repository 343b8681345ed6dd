"""The runs of the tests stand on what they say they do."""

import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
from django.apps import apps
from django.conf import settings
from django.contrib.staticfiles.storage import StaticFilesStorage, staticfiles_storage
from django.db import connection

from tests.__main__ import Step, run
from tests.browsing import launched
from tests.plugin import is_transactional


def reference_rows() -> int:
    """Count the rows that migrations bring."""
    return apps.get_model("taxa", "Genus").objects.count()


def test_the_home_is_the_run_s_own() -> None:
    assert Path(tempfile.gettempdir()).resolve() in settings.FRAGINV_HOME.parents
    assert isinstance(staticfiles_storage, StaticFilesStorage)
    assert staticfiles_storage.url("a.css") == "/static/a.css"


@pytest.mark.django_db
def test_the_engine_is_the_one_asked_for(pytestconfig: pytest.Config) -> None:
    asked = pytestconfig.getoption("engine")
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SHOW server_version_num")
            assert int(cursor.fetchone()[0]) >= 140000
        else:
            cursor.execute("PRAGMA journal_mode")
            assert cursor.fetchone()[0] == "wal"
            assert Path(str(connection.settings_dict["NAME"])).is_file()
    assert asked in {None, connection.vendor}


@pytest.mark.django_db
def test_a_test_finds_the_migrations_rows() -> None:
    assert reference_rows() > 0


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("turn", [1, 2])
def test_a_test_that_commits_finds_them_too(turn: int) -> None:
    assert reference_rows() > 0


def test_tests_that_commit_come_last(request: pytest.FixtureRequest) -> None:
    turns = [is_transactional(item) for item in request.session.items]
    assert any(turns)
    assert turns == sorted(turns)


def test_a_group_stays_with_one_worker(request: pytest.FixtureRequest) -> None:
    """The scheduler knows a group by the end of the test's name."""
    marked = [(item, item.get_closest_marker("xdist_group")) for item in request.session.items]
    grouped = [(item, mark.args[0]) for item, mark in marked if mark]
    if request.config.getoption("loadgroup", False):
        ends = {item.nodeid.rpartition("@")[2] == group for item, group in grouped}
        assert ends <= {True}
    committing = {group for item, group in grouped if is_transactional(item)}
    others = {group for item, group in grouped if not is_transactional(item)}
    assert not committing & others, "They are begun together: rows of migrations would be gone."


def test_what_runs_on_one_engine_alone_uses_no_database_of_the_run(
    request: pytest.FixtureRequest,
) -> None:
    once = [item for item in request.session.items if item.get_closest_marker("own_home")]
    of_the_run = {"db", "transactional_db", "live_server"}
    assert not [item for item in once if of_the_run & set(getattr(item, "fixturenames", ()))]


def test_a_missing_browser_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    with pytest.raises(RuntimeError, match=r"\.ci/setup test"), launched():
        pass


def test_a_failed_step_is_told_and_does_not_end_the_run(
    capfd: pytest.CaptureFixture[str],
) -> None:
    good = Step("good", [sys.executable, "-c", "print('ran')"])
    bad = Step("bad", [sys.executable, "-c", "raise SystemExit(3)"])
    assert run([good]) == []
    assert run([bad, good]) == ["bad"]
    out, err = capfd.readouterr()
    assert out.count("ran") == 2
    assert "== good (failed so far: bad)" in out
    assert "bad: FAILED" in err


def test_the_ci_line_is_the_one_in_the_readme(tmp_path: Path) -> None:
    root = Path(__file__).resolve().parent.parent.parent
    (tmp_path / ".ci").mkdir()
    script = tmp_path / ".ci" / "run"
    script.write_text((root / ".ci" / "run").read_text(encoding="utf-8"), encoding="utf-8")
    readme = tmp_path / "README.md"
    readme.write_text(
        "## Run it\n\n```sh\nfalse\n```\n\n## Test it\n\n```sh\necho ok && exit 7\n```\n"
    )
    done = subprocess.run(["bash", script], capture_output=True, text=True)
    assert (done.stdout, done.returncode) == ("ok\n", 7)
    readme.write_text("## Test it\n\n```sh\none\ntwo\n```\n")
    done = subprocess.run(["bash", script], capture_output=True, text=True)
    assert done.returncode == 1
    assert "exactly one line" in done.stderr
