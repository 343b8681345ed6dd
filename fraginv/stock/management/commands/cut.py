"""``cut --colony CODE --pieces N``: a cutting from the command line."""

from collections.abc import Mapping
from typing import Any

from django.core.management.base import CommandParser

from fraginv.base.commands import Answer, PlainCommand
from fraginv.base.errors import Conflict
from fraginv.base.rules.codes import read_code, show_code
from fraginv.base.rules.days import parse_day
from fraginv.stock.actions.cuttings import cut_colony
from fraginv.stock.models import Cutting
from fraginv.stock.queries.colonies import colony_by_code
from fraginv.stock.rules.cutting import TOOLS
from fraginv.stock.rules.stages import MEDIUMS


class Command(PlainCommand):
    """Record a cutting and print the codes of what was cut."""

    help = "Records a cutting of a colony and prints the codes of its frags."

    def add_options(self, parser: CommandParser) -> None:
        """Declare colony, numbers, labels, medium and day."""
        parser.add_argument("--colony", required=True, metavar="CODE", help="the colony's code")
        parser.add_argument("--pieces", required=True, type=int, metavar="N", help="living pieces")
        parser.add_argument("--lot", action="store_true", help="one code for all pieces")
        parser.add_argument(
            "--codes", default="", metavar="FIRST", help="first of a run of printed blank labels"
        )
        parser.add_argument("--on", default="plug", metavar="MEDIUM", help=", ".join(MEDIUMS))
        parser.add_argument("--day", default="", metavar="D", help="as in 2026-11-25; or today")
        parser.add_argument(
            "--lost", type=int, default=0, metavar="N", help="more pieces, lost at the bench"
        )
        parser.add_argument(
            "--despite-rest",
            default="",
            metavar="WHY",
            help="why a resting colony is cut, or more off it than its most",
        )
        parser.add_argument("--tool", default="", metavar="TOOL", help=", ".join(TOOLS))
        parser.add_argument(
            "--dip", default="", metavar="DIP", help="what the pieces were dipped in"
        )

    def work(self, options: Mapping[str, Any]) -> Answer:
        """Cut.

        Raises: FraginvError; nothing is written then.
        """
        by = self.acting_person()
        colony = colony_by_code(read_code(options["colony"]))
        try:
            cutting = cut_colony(
                colony.pk,
                pieces=options["pieces"],
                by=by,
                lost=options["lost"],
                medium=options["on"],
                lot=options["lot"],
                first_code=options["codes"],
                day=parse_day(options["day"]) if options["day"] else None,
                despite_rest=options["despite_rest"],
                tool=options["tool"],
                dip=options["dip"],
            )
        except Conflict as error:
            if not {"until", "most"} & set(error.data):
                raise
            told = f"{error.message} The reason goes after --despite-rest."
            raise Conflict(told, **error.data) from error
        return answer_for(cutting)


def answer_for(cutting: Cutting) -> Answer:
    """Say which codes were given.

    Queries: 1.
    """
    codes = list(cutting.frags.order_by("pk").values_list("code_id", flat=True))
    data = {
        "cutting": cutting.pk,
        "colony": cutting.colony.code_id,
        "day": cutting.day.isoformat(),
        "pieces": cutting.pieces,
        "lost": cutting.lost,
        "lot": cutting.as_lot,
        "on": cutting.medium,
        "codes": codes,
    }
    return Answer(lines=[show_code(code) for code in codes], data=data)
