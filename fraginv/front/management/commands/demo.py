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
from fraginv.base.environment import VARIABLES
from fraginv.front.demo import cast
from fraginv.front.demo.folder import demo_folder, make_empty
from fraginv.front.demo.story import tell
from fraginv.front.queries.differences import differences
from fraginv.front.rules.places import PORT, Place, place_of
from fraginv.front.serving.lock import HomeLock, refuse_taken, take_home
from fraginv.front.serving.places import check_place
from fraginv.front.serving.preparing import place_url, prepare, serve
from fraginv.upkeep.actions.nightly import back_up_nightly

PAPERS = ("labels", "sheet", "month")
# What the demo takes over from the environment; all else could lead to something real.
HARMLESS = {"FRAGINV_HOST", "FRAGINV_PROCESSES", "FRAGINV_THREADS", "FRAGINV_LOG", "FRAGINV_DEBUG"}


class Command(PlainCommand):
    """Check that nothing real is in reach, then go on as a process with the demo's own home."""

    help = "Builds the demo organisation, walks the main job through it, and serves it."
    requires_migrations_checks = False
    makes_database = True
    place = Place()
    lock: HomeLock | None = None

    def add_options(self, parser: CommandParser) -> None:
        """Declare where to serve and what lots are drawn by."""
        parser.add_argument("--port", type=int, default=PORT, metavar="N", help=f"or {PORT}")
        parser.add_argument("--no-serve", action="store_true", help="build only")
        parser.add_argument("--seed", type=int, default=7, metavar="N", help="same seed, same demo")
        parser.add_argument("--inside", action="store_true", help=argparse.SUPPRESS)

    def handle(self, *args: Any, **options: Any) -> None:
        """Build, say so, then serve until it is stopped."""
        try:
            super().handle(*args, **options)
            if self.lock is not None and not options["no_serve"]:
                serve(self.place, works=True, lock=self.lock)
        finally:
            if self.lock is not None:
                self.lock.let_go()

    def work(self, options: Mapping[str, Any]) -> Answer:
        """Go on inside the demo's folder; there, build.

        Raises: Conflict where something real is in reach; InputError for a port
            that is taken.
        """
        self.place = place_of("", port=options["port"])
        if options["inside"]:
            refuse_other_folder()
            self.lock = take_home(settings.FRAGINV_HOME)
            return build(options, place=self.place)
        if not options["no_serve"]:
            check_place(self.place)
        folder = demo_folder(settings.FRAGINV_HOME, database_url=settings.ENVIRONMENT.database_url)
        refuse_taken(folder)
        make_empty(folder)
        go_inside(folder)


def go_inside(folder: Path) -> NoReturn:
    """Become a process whose home is the demo's folder."""
    sys.stdout.flush()
    command = [sys.executable, str(settings.BASE_DIR / "manage.py"), *sys.argv[1:], "--inside"]
    environment = environment_inside(folder, given={**os.environ})
    os.execve(sys.executable, command, environment)  # noqa: S606 no shell; every word is ours


def environment_inside(folder: Path, *, given: Mapping[str, str]) -> dict[str, str]:
    """Return an environment with the demo's home, and without what leads to anything real."""
    told = {variable.name for variable in VARIABLES} - HARMLESS
    kept = {
        name: value
        for name, value in given.items()
        if name not in told and not name.startswith("AWS_")
    }
    return kept | {"FRAGINV_HOME": str(folder)}


def refuse_other_folder() -> None:
    """Refuse to build anywhere but in a folder that the demo made.

    Raises: Conflict.
    """
    demo_folder(settings.FRAGINV_HOME.parent, database_url=settings.ENVIRONMENT.database_url)


def build(options: Mapping[str, Any], *, place: Place) -> Answer:
    """Build the demo, and say what was done and where everything lies."""
    home = settings.FRAGINV_HOME
    prepare()
    said: list[str] = []
    tell(options["seed"], home=home, say=said.append)
    found = [str(one) for one in differences()]
    said.append("verify: everything agrees." if not found else f"verify: {len(found)} differences.")
    said.append(f"A backup was made: {back_up_nightly().file}.")
    url = "" if options["no_serve"] else place_url(place)
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
