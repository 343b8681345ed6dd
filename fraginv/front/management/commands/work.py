"""``work``: does what waits, and what recurs when it is due."""

from collections.abc import Mapping
from typing import Any

from fraginv.base.commands import Answer, PlainCommand
from fraginv.front.working import Worker


class Command(PlainCommand):
    """Work until it is stopped."""

    help = "Works off what waits and what the timetable says, until it is stopped."

    def work(self, options: Mapping[str, Any]) -> Answer:
        """Work, and end in good order when asked to."""
        Worker().run()
        return Answer()
