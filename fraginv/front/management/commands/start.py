"""``start``: the pages for real use, after the questions of a first run."""

import sys
from collections.abc import Mapping
from getpass import getpass
from typing import Any

from django.conf import settings
from django.core.management.base import CommandParser

from fraginv.base.commands import Answer, PlainCommand
from fraginv.base.errors import InputError
from fraginv.base.models import Organisation, Person
from fraginv.base.queries.people import people_active
from fraginv.base.rules.roles import Role
from fraginv.front.actions import Founding, Owner, begin
from fraginv.front.serving import HOST, PORT, check_port, prepare, serve

LOOPBACK = {"localhost", "127.0.0.1", "[::1]", "*"}


class Command(PlainCommand):
    """Bring the database up to date, ask what is missing, and serve."""

    help = "Brings the database up to date, asks what a first run needs, and serves the pages."
    requires_migrations_checks = False
    makes_database = True

    def add_options(self, parser: CommandParser) -> None:
        """Declare where to serve, and answers to the questions of a first run."""
        parser.add_argument("--port", type=int, default=PORT, metavar="N", help=f"or {PORT}")
        parser.add_argument("--no-serve", action="store_true", help="prepare only")
        parser.add_argument("--organisation", default="", metavar="NAME", help="whose tool it is")
        parser.add_argument("--currency", default="", metavar="CODE", help="such as USD")
        parser.add_argument("--zone", default="", metavar="ZONE", help="such as America/New_York")
        parser.add_argument("--label-host", default="", metavar="HOST", help="host on labels")
        parser.add_argument(
            "--owner", default="", metavar="NAME", help="first owner; password: FRAGINV_PASSWORD"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Prepare, say so, then serve until it is stopped."""
        super().handle(*args, **options)
        if not options["no_serve"]:
            serve(options["port"])

    def work(self, options: Mapping[str, Any]) -> Answer:
        """Prepare what is served.

        Raises: InputError for a port that is taken, or for what a first run lacks.
        """
        if not options["no_serve"]:
            check_port(options["port"])
        prepare()
        founding = None if Organisation.objects.exists() else ask_founding(options)
        has_owner = people_active().filter(role=Role.OWNER.value).exists()
        owner = None if has_owner else ask_owner(options)
        organisation, person = begin(founding, owner=owner)
        return answer_for(options, organisation=organisation, person=person)


def ask_founding(options: Mapping[str, Any]) -> Founding:
    """Return the organisation from the options, or from what is typed."""
    return Founding(
        name=options["organisation"] or ask("Name of the organisation", "--organisation"),
        currency=options["currency"] or ask("Currency, such as USD", "--currency"),
        zone=options["zone"] or ask("Time zone, such as America/New_York", "--zone"),
        label_host=options["label_host"] or host_for_labels(),
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
    return getpass("Password for the owner, 10 characters or more: ")


def host_for_labels() -> str:
    """Return the first name under which others reach the pages, as labels are to carry it."""
    names = [name for name in settings.ALLOWED_HOSTS if name not in LOOPBACK]
    return names[0] if names else "localhost"


def answer_for(
    options: Mapping[str, Any], *, organisation: Organisation | None, person: Person | None
) -> Answer:
    """Say what was made and where the pages are."""
    url = "" if options["no_serve"] else f"http://{HOST}:{options['port']}/"
    lines = [f"Kept in {settings.FRAGINV_HOME}."]
    if organisation is not None:
        lines.append(f"{organisation.name} is written down.")
    if person is not None:
        lines.append(f"{person.name} signs in as {person.username}.")
    if url:
        lines.append(f"Serving on {url} (stop with Ctrl-C).")
    data = {
        "home": str(settings.FRAGINV_HOME),
        "organisation": organisation.name if organisation else None,
        "owner": person.username if person else None,
        "url": url or None,
    }
    return Answer(lines=lines, data=data)
