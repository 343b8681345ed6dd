"""``file PHOTO…``: reads and measures photos as ``read`` does, and files each by its labels."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from fraginv.base.commands import Answer, PlainCommand
from fraginv.base.errors import FraginvError
from fraginv.base.rules.codes import show_code
from fraginv.growth.actions.intake import open_batch, take_in
from fraginv.growth.management.commands.read import UNREAD, is_unread, lines_of, read_photo
from fraginv.growth.models import Batch, Incoming, Photo
from fraginv.growth.rules.intake import State
from fraginv.growth.rules.problems import Problem
from fraginv.growth.rules.told import Asked, PhotoTold

STATES = {
    State.FILED: "filed",
    State.TRAY: "in the tray of photos that wait to be filed by hand",
    State.REFUSED: "refused",
    State.DISCARDED: "not kept a second time",
    State.WAITING: "waiting",
}


@dataclass(frozen=True)
class Filed:
    """A photo that was read, and what became of it; ``under`` are the codes it is filed under."""

    told: PhotoTold
    state: str
    said: str = ""
    under: tuple[str, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """Return it as JSON shows it."""
        return {
            **self.told.as_dict(),
            "state": self.state,
            "said": self.said,
            "filed_under": list(self.under),
        }


class Command(PlainCommand):
    """File photos under the frags, colonies and racks whose labels they show."""

    help = "Files photos by the labels in them; what shows none waits in the tray."

    def add_options(self, parser: CommandParser) -> None:
        """Declare the photos."""
        parser.add_argument("photos", nargs="+", type=Path, metavar="PHOTO")

    def work(self, options: Mapping[str, Any]) -> Answer:
        """File each photo; one that cannot be taken is told among the others.

        Raises: FraginvError where nobody is there in whose name photos are filed.
        """
        batch = open_batch(uuid.uuid4(), by=self.acting_person())
        filed = [file_photo(path, batch=batch) for path in options["photos"]]
        refused = [one for one in filed if one.state == State.REFUSED.value]
        return Answer(
            lines=[line for one in filed for line in said_lines(one)],
            data=[one.as_dict() for one in filed],
            failed=f"{len(refused)} of {len(filed)} photos could not be taken." if refused else "",
        )


def file_photo(path: Path, *, batch: Batch) -> Filed:
    """Read, measure and file one photo."""
    told = read_photo(path, asked=Asked())
    if is_unread(told):
        return Filed(told, State.REFUSED.value, told.problems[0].text)
    try:
        row = take_in(path.read_bytes(), name=path.name, batch=batch)
    except (FraginvError, OSError) as error:
        said = str(getattr(error, "message", error))
        problem = Problem(UNREAD, said, stops=True)
        return Filed(PhotoTold(path.name, problems=[problem]), State.REFUSED.value, said)
    return Filed(told, row.state, row.said, codes_under(row))


def codes_under(row: Incoming) -> tuple[str, ...]:
    """Return the codes of what a picture is filed under, each once.

    Queries: 1.
    """
    if row.file_id is None or row.state != State.FILED.value:
        return ()
    photos = Photo.objects.select_related("frag", "colony", "rack").order_by("pk")
    whole = photos.filter(file=row.file_id) | photos.filter(part_of__file=row.file_id)
    shown = (photo.frag or photo.colony or photo.rack for photo in whole)
    return tuple(dict.fromkeys(one.code_id for one in shown if one is not None))


def said_lines(filed: Filed) -> list[str]:
    """Say in words what a photo told and what became of it."""
    under = ", ".join(show_code(code) for code in filed.under)
    state = STATES[State(filed.state)]
    became = (
        f"  {state}{f' under {under}' if under else ''}{f': {filed.said}' if filed.said else ''}"
    )
    return lines_of(filed.told) if is_unread(filed.told) else [*lines_of(filed.told), became]
