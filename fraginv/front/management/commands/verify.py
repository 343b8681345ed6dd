"""``verify``: whether everything that must agree does."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from fraginv.base.commands import Answer, PlainCommand
from fraginv.front.queries.differences import differences


class Command(PlainCommand):
    """Replay events, rebuild totals, look for files, and list every difference."""

    help = "Replays events, rebuilds totals, looks for files; lists every difference."

    def work(self, options: Mapping[str, Any]) -> Answer:
        """Compare everything with everything it must agree with."""
        found = list(differences())
        many = "One difference" if len(found) == 1 else f"{len(found)} differences"
        return Answer(
            lines=[str(one) for one in found] or ["Everything agrees."],
            data={"differences": [asdict(one) for one in found]},
            failed=f"{many} found." if found else "",
        )
