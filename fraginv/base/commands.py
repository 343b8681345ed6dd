"""What every command of ours does alike: plain errors, exit status, one JSON document."""

import json
import signal
import sys
from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import OperationalError, ProgrammingError, connection

from fraginv.base.errors import FraginvError
from fraginv.base.models import Person
from fraginv.base.queries.people import first_owner

MISUSED, FAILED = 2, 1


@dataclass(frozen=True)
class Answer:
    """What a command has to say.

    Attributes: ``lines`` for people; ``data`` is what ``--json`` prints
    instead; ``failed`` says what is wrong when an answer is no success.
    """

    lines: Sequence[str] = ()
    data: object = field(default_factory=dict)
    failed: str = ""


class PlainCommand(BaseCommand, ABC):
    """Run ``work`` and print its answer.

    The exit status is 0 on success, and 1 with a message on standard error
    where something is wrong, misused options included. With ``--json``
    standard output holds one JSON document or nothing.
    """

    makes_database = False
    needs_database = True
    undoes_when_ended = False

    def add_arguments(self, parser: CommandParser) -> None:
        """Take ``--json``, and what the command itself asks for."""
        parser.add_argument(
            "--json", action="store_true", help="print one JSON document and nothing else"
        )
        self.add_options(parser)

    def add_options(self, parser: CommandParser) -> None:
        """Declare the command's own options; none unless it says so."""

    @abstractmethod
    def work(self, options: Mapping[str, Any]) -> Answer:
        """Do what the command is for.

        Raises: FraginvError with the message to show.
        """

    def handle(self, *args: Any, **options: Any) -> None:
        """Print what ``work`` answers, or say in plain words why it cannot."""
        if self.needs_database and not self.makes_database:
            refuse_missing_database()
        try:
            answer = self.work(options)
        except FraginvError as error:
            raise CommandError(error.message, returncode=FAILED) from error
        except (OperationalError, ProgrammingError) as error:
            raise CommandError(say_database(error), returncode=FAILED) from error
        if options["json"]:
            self.stdout.write(json.dumps(answer.data, indent=2, ensure_ascii=False, default=str))
        else:
            for line in answer.lines:
                self.stdout.write(line)
        if answer.failed:
            raise CommandError(answer.failed, returncode=FAILED)

    def run_from_argv(self, argv: list[str]) -> None:
        """Run, with status 1 also for options that cannot be read.

        A command that says ``undoes_when_ended`` takes a signal to end as an
        error, so that it removes what it has begun.
        """
        if self.undoes_when_ended:
            signal.signal(signal.SIGTERM, lambda *_: sys.exit(FAILED))
        try:
            super().run_from_argv(argv)
        except SystemExit as stop:
            if stop.code == MISUSED:
                raise SystemExit(FAILED) from stop
            raise

    def acting_person(self) -> Person:
        """Return in whose name a command writes: the first owner who may sign in.

        Raises: NotFound before there is one.
        Queries: 1.
        """
        return first_owner()


def refuse_missing_database() -> None:
    """Stop before SQLite makes an empty file where there is no database yet.

    Raises: CommandError.
    """
    if is_database_missing():
        raise CommandError(
            f"There is no database in {settings.FRAGINV_HOME}. Run `python manage.py start` first, "
            "or set FRAGINV_HOME to the folder that has it; the demo's is var/demo.",
            returncode=FAILED,
        )


def is_database_missing() -> bool:
    """Tell whether SQLite's file is not there yet; asking for rows would make an empty one."""
    return connection.vendor == "sqlite" and not Path(connection.settings_dict["NAME"]).exists()


def say_database(error: Exception) -> str:
    """Say that the database cannot be used as it is, and what to do."""
    return (
        f"The database cannot be used: {str(error).strip()}. "
        "If it is new, run `python manage.py start --no-serve` first."
    )
