"""``start``: the pages for real use, after the questions of a first run."""

import sys
from collections.abc import Mapping
from getpass import getpass
from typing import Any

from django.conf import settings
from django.core.management.base import CommandParser

from fraginv.base.commands import Answer, PlainCommand
from fraginv.base.errors import InputError
from fraginv.base.passwords import HELP
from fraginv.front.actions import Founding, Owner, begin
from fraginv.front.beginning import host_for_labels, make_link
from fraginv.front.queries.house import Missing, what_is_missing
from fraginv.front.rules.places import PORT, Place, place_of
from fraginv.front.serving.lock import HomeLock, take_home
from fraginv.front.serving.places import check_place, warnings_for
from fraginv.front.serving.preparing import place_url, prepare, serve

ANSWERS = ("organisation", "currency", "zone", "label_host", "owner")
# After a start that was killed, its last pages may still be on their way.
PATIENCE_SECONDS = 10.0


class Command(PlainCommand):
    """Bring the database up to date, ask what is missing, and serve."""

    help = "Brings the database up to date, asks what a first run needs, and serves the pages."
    requires_migrations_checks = False
    makes_database = True
    place = Place()
    lock: HomeLock | None = None

    def add_options(self, parser: CommandParser) -> None:
        """Declare where to serve, and answers to the questions of a first run."""
        parser.add_argument("--port", type=int, metavar="N", help=f"{PORT} where not given")
        parser.add_argument(
            "--listen",
            default="",
            metavar="PLACE",
            help="ADDRESS, ADDRESS:PORT, [::1]:PORT or unix:PATH; this machine alone if not given",
        )
        parser.add_argument("--no-serve", action="store_true", help="prepare only")
        parser.add_argument("--no-work", action="store_true", help="no worker beside the pages")
        parser.add_argument("--organisation", default="", metavar="NAME", help="whose tool it is")
        parser.add_argument("--currency", default="", metavar="CODE", help="such as USD")
        parser.add_argument("--zone", default="", metavar="ZONE", help="such as America/New_York")
        parser.add_argument("--label-host", default="", metavar="HOST", help="host on labels")
        parser.add_argument(
            "--owner", default="", metavar="NAME", help="first owner; password: FRAGINV_PASSWORD"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Prepare, say so, then serve until it is stopped."""
        try:
            super().handle(*args, **options)
            if self.lock is not None and not options["no_serve"]:
                serve(self.place, works=not options["no_work"], lock=self.lock)
        finally:
            if self.lock is not None:
                self.lock.let_go()

    def work(self, options: Mapping[str, Any]) -> Answer:
        """Prepare what is served.

        Raises: InputError for a place that is taken, or for what a first run lacks;
            Conflict where the home is served already.
        """
        self.place = place_of(options["listen"], port=options["port"])
        self.lock = take_home(settings.FRAGINV_HOME)
        if not options["no_serve"]:
            check_place(self.place, patience=PATIENCE_SECONDS if self.lock.was_cut_off else 0.0)
        self.lock.note()
        mended, missing = prepare(), what_is_missing()
        url = "" if options["no_serve"] else place_url(self.place)
        is_left_to_link = bool(missing and url) and not is_answered(options)
        organisation = person = None
        if not is_left_to_link:
            founding, owner = first_answers(options, missing=missing)
            organisation, person = begin(founding, owner=owner)
        said = [f"Kept in {settings.FRAGINV_HOME}.", *mended]
        if organisation is not None:
            said.append(f"{organisation.name} is written down.")
        if person is not None:
            said.append(f"{person.name} signs in as {person.username}.")
        link = make_link(url) if is_left_to_link else ""
        if url:
            said += [*warnings_for(self.place), f"Serving on {url} (stop with Ctrl-C)."]
        if link:
            said.append(f"Nobody has set this house up yet. Open this link, good once: {link}")
        data = {
            "home": str(settings.FRAGINV_HOME),
            "organisation": organisation.name if organisation else None,
            "owner": person.username if person else None,
            "url": url or None,
            "begin": link or None,
        }
        return Answer(lines=said, data=data)


def is_answered(options: Mapping[str, Any]) -> bool:
    """Tell whether somebody answers the questions of a first run, by option or at the terminal."""
    return sys.stdin.isatty() or any(options[name] for name in ANSWERS)


def first_answers(
    options: Mapping[str, Any], *, missing: Missing
) -> tuple[Founding | None, Owner | None]:
    """Return the answers to what is missing, from the options or from what is typed."""
    founding = ask_founding(options) if missing.organisation else None
    return founding, ask_owner(options) if missing.owner else None


def ask_founding(options: Mapping[str, Any]) -> Founding:
    """Return the organisation from the options, or from what is typed."""
    return Founding(
        name=options["organisation"] or ask("Name of the organisation", "--organisation"),
        currency=options["currency"] or ask("Currency, such as USD", "--currency"),
        zone=options["zone"] or ask("Time zone, such as America/New_York", "--zone"),
        label_host=options["label_host"] or host_for_labels() or "localhost",
    )


def ask_owner(options: Mapping[str, Any]) -> Owner:
    """Return the first owner from the options, or from what is typed."""
    name = options["owner"] or ask("Name of the first owner", "--owner")
    password = settings.ENVIRONMENT.password or ask_password()
    return Owner(name=name, password=password)


def ask(question: str, option: str) -> str:
    """Ask one question.

    Raises: InputError where nobody sits at the terminal.
    """
    if not sys.stdin.isatty():
        raise InputError(f"{question} is missing. Give it with {option}.")
    return input(f"{question}: ").strip()


def ask_password() -> str:
    """Ask for a password without showing it.

    Raises: InputError where nobody sits at the terminal.
    """
    if not sys.stdin.isatty():
        raise InputError("The owner's password is missing. Give it in FRAGINV_PASSWORD.")
    return getpass(f"Password for the owner. {HELP}\n")
