"""One start at a time on one home, and what a killed one leaves."""

import os
from pathlib import Path

import pytest

from fraginv.base.errors import Conflict, InputError
from fraginv.base.home import LOCK_FILE
from fraginv.front.serving.lock import refuse_taken, take_home
from tests.base.rights import as_somebody, open_folder


def test_the_second_is_told_who_serves_and_where(tmp_path: Path) -> None:
    lock = take_home(tmp_path)
    lock.note()
    with pytest.raises(Conflict, match=f"Process {os.getpid()} prepares {tmp_path}"):
        take_home(tmp_path)
    lock.note(url="http://127.0.0.1:8000/")
    said = f"Process {os.getpid()} serves {tmp_path} already, on http://127.0.0.1:8000/"
    for refuse in (take_home, refuse_taken):
        with pytest.raises(Conflict, match=said):
            refuse(tmp_path)
    lock.let_go()
    refuse_taken(tmp_path)
    again = take_home(tmp_path)
    assert not again.was_cut_off
    again.let_go()


def test_what_a_killed_one_left_is_no_obstacle(tmp_path: Path) -> None:
    (tmp_path / LOCK_FILE).write_text('{"pid": 1, "url": "http://127.0.0.1:8000/"}')
    lock = take_home(tmp_path)
    assert lock.was_cut_off
    lock.let_go()


@pytest.mark.parametrize("text", ["", "half a wr", "[1]"])
def test_a_note_that_cannot_be_read_still_refuses(tmp_path: Path, text: str) -> None:
    lock = take_home(tmp_path)
    (tmp_path / LOCK_FILE).write_text(text)
    with pytest.raises(Conflict, match="Another process prepares"):
        take_home(tmp_path)
    lock.let_go()


def test_the_lock_is_for_its_owner_alone(tmp_path: Path) -> None:
    take_home(tmp_path).let_go()
    assert (tmp_path / LOCK_FILE).stat().st_mode & 0o777 == 0o600


def test_a_home_that_cannot_be_written_is_said() -> None:
    with (
        open_folder(mode=0o555) as home,
        as_somebody(),
        pytest.raises(InputError, match="cannot be used: Permission denied .* this user may write"),
    ):
        take_home(home)
