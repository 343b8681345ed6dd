"""``verify``: whether everything that must agree does."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from django.core.management.base import CommandParser

from fraginv.base.actions.tallies import recount_tallies
from fraginv.base.commands import Answer, PlainCommand
from fraginv.front.queries.differences import differences, sums


class Command(PlainCommand):
    """Replay events, rebuild totals, look for files, and list every difference."""

    help = "Replays events, rebuilds totals, looks for files; lists every difference."

    def add_options(self, parser: CommandParser) -> None:
        """Declare that sums may be added up anew first."""
        parser.add_argument(
            "--recount",
            action="store_true",
            help="add up anew what is kept of sums, after rows were changed by hand",
        )

    def work(self, options: Mapping[str, Any]) -> Answer:
        """Compare everything with everything it must agree with."""
        if options["recount"]:
            recount_tallies(sums)
        found = list(differences())
        many = "One difference" if len(found) == 1 else f"{len(found)} differences"
        return Answer(
            lines=[str(one) for one in found] or ["Everything agrees."],
            data={"differences": [asdict(one) for one in found]},
            failed=f"{many} found." if found else "",
        )
