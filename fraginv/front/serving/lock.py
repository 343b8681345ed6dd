"""One ``start`` at a time on one home."""

import fcntl
import json
import os
from pathlib import Path
from typing import Any, TextIO

from fraginv.base.errors import Conflict
from fraginv.base.home import LOCK_FILE, OWNER_ALONE, home_in_words


class HomeLock:
    """A home taken by this process for as long as it runs, however it ends.

    The kernel holds the lock and lets go of it when the process ends, so that a
    file left behind by one that was killed is no obstacle. The children that
    serve and work do not inherit it. ``was_cut_off`` tells that the one before
    was killed, so that its last pages may still be on their way.
    """

    def __init__(self, file: TextIO) -> None:
        self.file = file
        self.was_cut_off = os.fstat(file.fileno()).st_size > 0

    def note(self, **told: Any) -> None:
        """Write down what a second start is to be told."""
        self.file.seek(0)
        self.file.truncate()
        json.dump({"pid": os.getpid(), **told}, self.file)
        self.file.flush()

    def let_go(self) -> None:
        """Let the next one have the home; an empty file says that all ended well."""
        if self.file.closed:
            return
        self.file.seek(0)
        self.file.truncate()
        self.file.close()

    def remove(self, home: Path) -> None:
        """Let go and leave no file; who opened it meanwhile finds that it is gone."""
        (home / LOCK_FILE).unlink(missing_ok=True)
        self.let_go()


def take_home(home: Path) -> HomeLock:
    """Take a home, or say who has it.

    Raises: Conflict naming the process that has it; InputError where the home
        cannot be written.
    """
    with home_in_words(home):
        while True:
            file = locked(home)
            if is_there(home / LOCK_FILE, file=file):
                return HomeLock(file)
            file.close()


def locked(home: Path) -> TextIO:
    """Open a home's lock file and lock it.

    Raises: Conflict where somebody has it; OSError.
    """
    descriptor = os.open(home / LOCK_FILE, os.O_RDWR | os.O_CREAT, OWNER_ALONE)
    file = os.fdopen(descriptor, "r+", encoding="utf-8")
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError as error:
        with file:
            raise Conflict(who_has(home, told(file))) from error
    except OSError:
        file.close()
        raise
    return file


def is_there(path: Path, *, file: TextIO) -> bool:
    """Tell whether an open file is the one that lies at a path, and was not removed since."""
    try:
        return os.path.samestat(path.stat(), os.fstat(file.fileno()))
    except FileNotFoundError:
        return False


def refuse_taken(home: Path) -> None:
    """Refuse a home in which somebody serves.

    Raises: Conflict and InputError as ``take_home``.
    """
    if (home / LOCK_FILE).exists():
        take_home(home).file.close()


def told(file: TextIO) -> dict[str, Any]:
    """Read what the process that has the home wrote down; nothing where it has not yet."""
    try:
        answer = json.load(file)
    except ValueError:
        return {}
    return answer if isinstance(answer, dict) else {}


def who_has(home: Path, told: dict[str, Any]) -> str:
    """Say who has a home, and what to do."""
    process = f"Process {told['pid']}" if "pid" in told else "Another process"
    where = f"serves {home} already, on {told['url']}" if told.get("url") else f"prepares {home}"
    return f"{process} {where}. Stop it first, or set FRAGINV_HOME to another folder."
