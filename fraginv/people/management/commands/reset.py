"""A link for a new password, made at the machine itself."""

from collections.abc import Mapping
from typing import Any

from django.core.management.base import CommandParser

from fraginv.base.commands import Answer, PlainCommand
from fraginv.base.queries.organisation import organisation
from fraginv.base.show import show_moment
from fraginv.people.actions.invitations import reset_at_the_machine


class Command(PlainCommand):
    """Make a one-time link with which somebody chooses a new password.

    The way out for the only owner who forgot it: whoever can run this can read
    the database anyway.
    """

    help = "makes a one-time link with which somebody chooses a new password"

    def add_options(self, parser: CommandParser) -> None:
        """Declare whose password it is."""
        parser.add_argument("username", metavar="NAME", help="the sign-in name")
        parser.add_argument(
            "--second-step",
            action="store_true",
            help="take the second step off as well, for who lost phone and recovery codes",
        )

    def work(self, options: Mapping[str, Any]) -> Answer:
        """Make the link; older ones of the person are withdrawn."""
        link = reset_at_the_machine(options["username"], takes_factor=options["second_step"])
        until = show_moment(link.invitation.ends_at, organisation())
        name = link.invitation.name
        return Answer(
            lines=[
                f"Good once, until {until}, for {name}. Open it where the pages are reached:",
                link.path,
            ],
            data={"name": name, "path": link.path, "until": link.invitation.ends_at.isoformat()},
        )
