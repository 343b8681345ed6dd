"""A worker: does what waits, and writes down what recurs when it is due."""

import logging
import math
import os
import secrets
import signal
import socket
import threading
import time
from contextlib import suppress
from datetime import datetime, timedelta
from traceback import format_exception
from typing import Any, Final

from django.db import (
    InterfaceError,
    InternalError,
    OperationalError,
    close_old_connections,
    connections,
)
from django_tasks_db.models import DBTaskResult

from fraginv.base import clock
from fraginv.base.errors import FraginvError, NotFound
from fraginv.base.tasks import policy_of
from fraginv.front.timetable import JOBS
from fraginv.upkeep.actions.alarms import alarm, mail_alarm
from fraginv.upkeep.actions.beats import beat, end_beats
from fraginv.upkeep.actions.tasks import (
    give_back,
    give_back_lost,
    hand_back,
    pull_in_tries,
    take_task,
)
from fraginv.upkeep.actions.turns import take_turns

log = logging.getLogger(__name__)

LOOK_SECONDS: Final = 1.0
TURN_SECONDS: Final = 20.0
BEAT_SECONDS: Final = 20.0
# Before whoever started this loses patience: the supervisor of `start` does after 45 s.
GRACE_SECONDS: Final = 40.0
JUMP: Final = timedelta(minutes=1)
AWAY_SECONDS: Final = (1.0, 2.0, 5.0, 15.0, 30.0)
DATABASE_AWAY = (OperationalError, InterfaceError, InternalError)


class BrokenOff(BaseException):
    """The task that runs has had its time since the worker was told to stop."""


class Steady:
    """Watch whether the machine's clock goes on as time does, or was set."""

    def __init__(self) -> None:
        self.seen: tuple[float, datetime] | None = None
        self.set_at = -math.inf

    def look(self, seconds: float, moment: datetime) -> bool:
        """Tell whether the clock was not set lately: for so long that every worker beat since.

        Args: ``seconds`` of a clock that nobody sets, and the ``moment`` that the other one shows.
        """
        if self.seen is not None:
            passed = timedelta(seconds=seconds - self.seen[0])
            if abs(moment - self.seen[1] - passed) > JUMP:
                self.set_at = seconds
        self.seen = (seconds, moment)
        return seconds - self.set_at > 2 * BEAT_SECONDS


class Worker:
    """One worker; ``stop`` lets it end after what it does now, or when that takes too long."""

    def __init__(self, *, grace: float = GRACE_SECONDS) -> None:
        self.grace = grace
        self.name = f"{socket.gethostname()[:30]}-{os.getpid()}-{secrets.token_hex(4)}"
        self.started_at = clock.now()
        self.doing, self.in_task = "", False
        self.stopping = threading.Event()
        self.away = 0
        self.steady = Steady()

    def stop(self, number: int = 0, frame: object = None) -> None:
        """End after what is being done now, or after the grace; a signal handler."""
        self.stopping.set()
        signal.setitimer(signal.ITIMER_REAL, self.grace)

    def break_off(self, number: int = 0, frame: object = None) -> None:
        """Break off the task that runs; what is written down of it is left to be finished."""
        if self.in_task:
            self.in_task = False
            raise BrokenOff

    def listen(self) -> None:
        """Hear that it is to stop, and that it took too long about it."""
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self.stop)
        signal.signal(signal.SIGALRM, self.break_off)

    def run(self) -> None:
        """Work until told to stop."""
        self.listen()
        beating = threading.Thread(target=self.beat_on, daemon=True)
        beating.start()
        try:
            self.work_on()
        finally:
            self.stopping.set()
            signal.setitimer(signal.ITIMER_REAL, 0)
            beating.join(timeout=BEAT_SECONDS)
            with suppress(*DATABASE_AWAY):
                end_beats(self.name)

    def work_on(self) -> None:
        """Do one task after the other; look for what recurs in between."""
        next_turn = 0.0
        while not self.stopping.is_set():
            close_old_connections()
            try:
                if time.monotonic() >= next_turn:
                    self.look_around()
                    next_turn = time.monotonic() + TURN_SECONDS
                row = take_task(self.name)
                if row is not None:
                    self.do(row)
                self.away = 0
            except DATABASE_AWAY:
                self.wait_for_database()
                next_turn = 0.0
                continue
            if row is None:
                self.stopping.wait(LOOK_SECONDS)

    def look_around(self) -> None:
        """Write down what is due, and put back what a lost worker left.

        This is done between tasks: one that is marked as done by this worker was
        broken off when the database went away.
        """
        with suppress(NotFound):  # nothing recurs before there is an organisation
            for name in take_turns(JOBS):
                log.info("The %s is due.", name)
        if pull_in_tries():
            log.warning("The clock was set back. What was to be tried again is tried now.")
        if not self.steady.look(time.monotonic(), clock.now()):
            return
        for path, is_over in give_back_lost(self.name):
            log.warning("A worker was lost while it did: %s", policy_of(path).title)
            if is_over:
                alarm("lost", place=path)

    def do(self, row: "DBTaskResult[..., Any]") -> None:
        """Do one task; what goes wrong in it stays with it."""
        self.doing = policy_of(row.task_path).title
        try:
            self.call(row)
        except BrokenOff:
            hand_back(row.pk)
            log.warning("%s was broken off, and is done when a worker runs again.", self.doing)
        except Exception as error:  # noqa: BLE001 whatever a task raises is kept with it
            self.note_failure(row, error)
        else:
            row.set_successful(None)
        finally:
            self.doing = ""

    def call(self, row: "DBTaskResult[..., Any]") -> None:
        """Run a task's function, which a signal may break off.

        Raises: BrokenOff, and whatever it raises.
        """
        self.in_task = True
        try:
            row.task.call(*row.args_kwargs["args"], **row.args_kwargs["kwargs"])
        finally:
            self.in_task = False

    def note_failure(self, row: "DBTaskResult[..., Any]", error: Exception) -> None:
        """Put a task back for another try; after the last one, tell the owner."""
        kind, said = type(error).__qualname__, "".join(format_exception(error))
        if isinstance(error, FraginvError):
            said = f"{kind}: {error.message}"
        is_over = give_back(row.pk, kind=kind, problem=said)
        log.warning("%s failed%s.", self.doing, " for good" if is_over else "", exc_info=error)
        if is_over and row.task_path != mail_alarm.module_path:  # no alarms about alarms
            alarm(kind, place=row.task_path)

    def wait_for_database(self) -> None:
        """Wait longer and longer while the database does not answer, and say so once."""
        if not self.away:
            log.exception("The database does not answer. Trying again until it does.")
        seconds = AWAY_SECONDS[min(self.away, len(AWAY_SECONDS) - 1)]
        self.away += 1
        connections.close_all()
        self.stopping.wait(seconds)

    def beat_on(self) -> None:
        """Give signs of life until told to stop, also while a long task is done."""
        while not self.stopping.is_set():
            with suppress(*DATABASE_AWAY):
                beat(self.name, host=socket.gethostname(), **self.told())
            connections.close_all()
            self.stopping.wait(BEAT_SECONDS)

    def told(self) -> dict[str, Any]:
        """Return what a sign of life says."""
        return {"started_at": self.started_at, "doing": self.doing}
