"""The home folder and its signing key."""

import stat
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

from fraginv.base.errors import InputError
from fraginv.base.home import close_key, signing_key, write_anew, write_once
from tests.base.rights import as_somebody, open_folder

RACERS = 6
RACE = """
import sys, time
from pathlib import Path
from fraginv.base.home import signing_key
home, start = Path(sys.argv[1]), Path(sys.argv[2])
print("ready", flush=True)
while not start.exists():
    time.sleep(0.001)
print(signing_key(home))
"""


def test_the_first_run_makes_a_key_for_its_owner_alone(tmp_path: Path) -> None:
    home = tmp_path / "a" / "home"
    key = signing_key(home)
    file = home / "signing.key"
    assert file.stat().st_mode & 0o777 == 0o600
    # Django's own check asks for 50 characters of at least 5 kinds.
    assert len(key) >= 50
    assert len(set(key)) >= 5
    assert [one.name for one in home.iterdir()] == ["signing.key"]
    assert signing_key(home) == key != signing_key(tmp_path / "b")


def test_a_key_that_is_there_is_left_as_it_is(tmp_path: Path) -> None:
    (tmp_path / "signing.key").write_text("kept-from-before\n", encoding="ascii")
    write_once(tmp_path / "signing.key", "another")
    assert signing_key(tmp_path) == "kept-from-before"
    assert len(list(tmp_path.iterdir())) == 1


def test_processes_that_start_at_once_share_one_key(tmp_path: Path) -> None:
    start = tmp_path / "start"
    racers = [
        subprocess.Popen(
            [sys.executable, "-c", RACE, str(tmp_path / "home"), str(start)],
            cwd=settings.BASE_DIR,
            stdout=subprocess.PIPE,
            text=True,
        )
        for _ in range(RACERS)
    ]
    for racer in racers:
        assert racer.stdout is not None
        assert racer.stdout.readline() == "ready\n"
    start.touch()
    keys = {racer.communicate(timeout=30)[0] for racer in racers}
    assert [racer.returncode for racer in racers] == [0] * RACERS
    assert keys == {f"{signing_key(tmp_path / 'home')}\n"}
    assert [one.name for one in (tmp_path / "home").iterdir()] == ["signing.key"]


def test_a_home_that_cannot_be_is_said_in_words(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    for home in (tmp_path / "file", tmp_path / "file" / "home"):
        with pytest.raises(InputError, match="cannot be used: .* Let it be a folder with room"):
            signing_key(home)


@pytest.mark.parametrize("mode", [0o555, 0o000], ids=["read-only", "closed"])
def test_a_home_without_rights_is_said_in_words(mode: int) -> None:
    with (
        open_folder(mode=mode) as home,
        as_somebody(),
        pytest.raises(InputError, match="cannot be used: Permission denied"),
    ):
        signing_key(home)


def test_a_key_that_this_user_may_not_read_is_said() -> None:
    with open_folder(mode=0o755) as home:
        signing_key(home)
        (home / "signing.key").chmod(0o000)
        with as_somebody(), pytest.raises(InputError, match=r"Permission denied .*signing\.key"):
            signing_key(home)


def test_a_home_is_open_to_its_owner_alone(tmp_path: Path) -> None:
    signing_key(tmp_path / "deep" / "home")
    assert stat.S_IMODE((tmp_path / "deep" / "home").stat().st_mode) == 0o700
    assert stat.S_IMODE((tmp_path / "deep" / "home" / "signing.key").stat().st_mode) == 0o600


def test_a_key_that_others_could_read_is_closed(tmp_path: Path) -> None:
    signing_key(tmp_path)
    assert close_key(tmp_path) is False
    (tmp_path / "signing.key").chmod(0o644)
    assert close_key(tmp_path) is True
    assert stat.S_IMODE((tmp_path / "signing.key").stat().st_mode) == 0o600


@pytest.mark.parametrize("text", ["", "  \n", "kéy"])
def test_a_key_that_is_none_is_said(tmp_path: Path, text: str) -> None:
    (tmp_path / "signing.key").write_text(text, encoding="latin-1")
    with pytest.raises(InputError, match="holds no signing key"):
        signing_key(tmp_path)


def test_writing_anew_leaves_one_file_whole(tmp_path: Path) -> None:
    write_anew(tmp_path / "x", "first")
    write_anew(tmp_path / "x", "second")
    assert [file.name for file in tmp_path.iterdir()] == ["x"]
    assert (tmp_path / "x").read_text() == "second"
