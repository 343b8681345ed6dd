"""Filing the papers that came with a colony, or saying why there are none."""

from fraginv.base import clock
from fraginv.base.actions.files import store_paper
from fraginv.base.errors import InputError
from fraginv.base.models import Person
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.colonies import change_colony
from fraginv.stock.actions.colony_log import note_colony
from fraginv.stock.models import Colony, ColonyPaper
from fraginv.stock.rules.colonies import LONGEST_PAPER, ColonyKind, read_words


@one_transaction
def file_paper(colony_id: int, *, data: bytes, title: str, by: Person) -> ColonyPaper:
    """File a paper of a colony, a PDF or a photo of it; the same one again changes nothing.

    Raises: InputError without a title, or as ``store_paper``.
    Queries: 6.
    """
    told = read_words(title, longest=LONGEST_PAPER, what="title")
    if not told:
        raise InputError("Say what the paper is, such as invoice or permit.")
    paper, is_new = ColonyPaper.objects.get_or_create(
        colony_id=colony_id,
        file=store_paper(data),
        defaults={"title": told, "by": by, "filed_at": clock.now()},
    )
    if is_new:
        note_colony(colony_id, ColonyKind.PAPER, by=by, body={"paper": paper.pk})
    return paper


@one_transaction
def say_no_paper(colony_id: int, *, because: str, by: Person) -> Colony:
    """Say why there is no paper of a colony's origin; it is not asked for again.

    Raises: InputError without a reason.
    Queries: 5.
    """
    if not because.strip():
        raise InputError("Write down why there is no paper, or add one.")
    return change_colony(colony_id, by=by, no_paper_because=because)
