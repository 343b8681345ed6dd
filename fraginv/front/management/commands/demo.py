"""``demo``: an invented organisation, the main job walked through once, and its pages."""

import argparse
import os
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NoReturn

from django.conf import settings
from django.core.management.base import CommandParser

from fraginv.base.commands import Answer, PlainCommand
from fraginv.front.demo import cast
from fraginv.front.demo.folder import demo_folder, make_empty
from fraginv.front.demo.story import tell
from fraginv.front.queries.differences import differences
from fraginv.front.serving import HOST, PORT, check_port, prepare, serve

PAPERS = ("labels", "sheet", "month")


class Command(PlainCommand):
    """Check that nothing real is in reach, then go on as a process with the demo's own home."""

    help = "Builds the demo organisation, walks the main job through it, and serves it."
    requires_migrations_checks = False
    makes_database = True

    def add_options(self, parser: CommandParser) -> None:
        """Declare where to serve and what lots are drawn by."""
        parser.add_argument("--port", type=int, default=PORT, metavar="N", help=f"or {PORT}")
        parser.add_argument("--no-serve", action="store_true", help="build only")
        parser.add_argument("--seed", type=int, default=7, metavar="N", help="same seed, same demo")
        parser.add_argument("--inside", action="store_true", help=argparse.SUPPRESS)

    def handle(self, *args: Any, **options: Any) -> None:
        """Build, say so, then serve until it is stopped."""
        super().handle(*args, **options)
        if not options["no_serve"]:
            serve(options["port"])

    def work(self, options: Mapping[str, Any]) -> Answer:
        """Go on inside the demo's folder; there, build.

        Raises: Conflict where something real is in reach; InputError for a port
            that is taken.
        """
        if options["inside"]:
            return build(options)
        if not options["no_serve"]:
            check_port(options["port"])
        folder = demo_folder(settings.FRAGINV_HOME, database_url=settings.ENVIRONMENT.database_url)
        make_empty(folder)
        go_inside(folder)


def go_inside(folder: Path) -> NoReturn:
    """Become a process whose home is the demo's folder."""
    sys.stdout.flush()
    environment = {**os.environ, "FRAGINV_HOME": str(folder)}
    command = [sys.executable, str(settings.BASE_DIR / "manage.py"), *sys.argv[1:], "--inside"]
    os.execve(sys.executable, command, environment)  # noqa: S606 no shell; every word is ours


def build(options: Mapping[str, Any]) -> Answer:
    """Build the demo, and say what was done and where everything lies.

    Raises: Conflict outside a folder that the demo made.
    """
    home = settings.FRAGINV_HOME
    demo_folder(home.parent, database_url=settings.ENVIRONMENT.database_url)
    prepare()
    said: list[str] = []
    tell(options["seed"], home=home, say=said.append)
    found = [str(one) for one in differences()]
    said.append("verify: everything agrees." if not found else f"verify: {len(found)} differences.")
    url = "" if options["no_serve"] else f"http://{HOST}:{options['port']}/"
    if url:
        said.append(f"Serving on {url} (stop with Ctrl-C). Tap a name to sign in.")
    data = {
        "home": str(home),
        **{name: str(home / f"{name}.pdf") for name in PAPERS},
        "said": said,
        "differences": found,
        "url": url or None,
        "people": [
            {"username": player.username, "name": player.name, "role": player.role.value}
            for player in cast.CREW
        ],
        "password": cast.PASSWORD,
    }
    return Answer(lines=said, data=data, failed="\n".join(found))
