"""A worker: does what waits, and writes down what recurs when it is due."""

import logging
import os
import secrets
import signal
import socket
import threading
import time
from contextlib import suppress
from traceback import format_exception
from typing import Any, Final

from django.db import DatabaseError, InterfaceError, close_old_connections, connections
from django_tasks_db.models import DBTaskResult

from fraginv.base import clock
from fraginv.base.errors import FraginvError
from fraginv.base.tasks import policy_of
from fraginv.front.timetable import JOBS
from fraginv.upkeep.actions.alarms import alarm, mail_alarm
from fraginv.upkeep.actions.beats import beat, end_beats
from fraginv.upkeep.actions.tasks import give_back, give_back_lost, take_task
from fraginv.upkeep.actions.turns import take_turns

log = logging.getLogger(__name__)

LOOK_SECONDS: Final = 1.0
TURN_SECONDS: Final = 20.0
BEAT_SECONDS: Final = 20.0
AWAY_SECONDS: Final = (1.0, 2.0, 5.0, 15.0, 30.0)
DATABASE_AWAY = (DatabaseError, InterfaceError)


class Worker:
    """One worker; ``stop`` lets it end after what it does now."""

    def __init__(self) -> None:
        self.name = f"{socket.gethostname()[:30]}-{os.getpid()}-{secrets.token_hex(4)}"
        self.started_at = clock.now()
        self.doing = ""
        self.stopping = threading.Event()
        self.away = 0

    def stop(self, number: int = 0, frame: object = None) -> None:
        """End after what is being done now; a signal handler."""
        self.stopping.set()

    def run(self) -> None:
        """Work until told to stop."""
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self.stop)
        beating = threading.Thread(target=self.beat_on, daemon=True)
        beating.start()
        try:
            self.work_on()
        finally:
            self.stopping.set()
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
        for name in take_turns(JOBS):
            log.info("The %s is due.", name)
        for path, is_over in give_back_lost(self.name):
            log.warning("A worker was lost while it did: %s", policy_of(path).title)
            if is_over:
                alarm("lost", place=path)

    def do(self, row: "DBTaskResult[..., Any]") -> None:
        """Do one task; what goes wrong in it stays with it."""
        self.doing = policy_of(row.task_path).title
        try:
            row.task.call(*row.args_kwargs["args"], **row.args_kwargs["kwargs"])
        except Exception as error:  # noqa: BLE001 whatever a task raises is kept with it
            self.note_failure(row, error)
        else:
            row.set_successful(None)
        finally:
            self.doing = ""

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
