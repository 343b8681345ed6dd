"""Reading colonies' papers, and which colonies lack one."""

from collections.abc import Iterator
from typing import Final

from django.db.models import Exists, OuterRef, Q, QuerySet

from fraginv.base.errors import NotFound
from fraginv.base.models import StoredFile
from fraginv.base.queries.files import damaged_names, missing_names
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.differences import Difference
from fraginv.stock.models import Colony, ColonyPaper
from fraginv.stock.rules.colonies import Origin, State

# A coral of a listed genus that was not cut here came on some paper. It is asked for on the
# colony, once, while that is here; never at a sale.
LACKS_PAPER: Final = (
    Q(variety__genus__cites=True, state=State.LIVING.value)
    & ~Q(origin=Origin.CUT_HERE.value)
    & Q(permit="", invoice="", no_paper_because="")
    & Q(~Exists(ColonyPaper.objects.filter(colony=OuterRef("pk"))))
)


def papers_of(colony: Colony) -> QuerySet[ColonyPaper]:
    """Return a colony's papers, the first filed first.

    Queries: none until it is read, then 1.
    """
    return colony.papers.select_related("file", "by").order_by("pk")


def get_paper(paper_id: int) -> ColonyPaper:
    """Return a paper with its file and colony.

    Raises: NotFound.
    Queries: 1.
    """
    found = ColonyPaper.objects.select_related("file", "colony").filter(pk=paper_id).first()
    if found is None:
        raise NotFound("There is no such paper.")
    return found


def lacks_paper(colony: Colony) -> bool:
    """Tell whether a paper of a colony's origin is still asked for.

    Queries: 1.
    """
    return Colony.objects.filter(LACKS_PAPER, pk=colony.pk).exists()


def paper_differences() -> Iterator[Difference]:
    """Yield papers whose files are not what was kept.

    Queries: 1; and the storage reads each once.
    """
    for paper in ColonyPaper.objects.select_related("file", "colony").order_by("pk"):
        where = f"paper {paper.pk} of colony {show_code(paper.colony.code_id)}"
        file: StoredFile = paper.file
        for name in missing_names(file):
            yield Difference(where, f"missing in the storage: {name}")
        for name in damaged_names(file):
            yield Difference(where, f"not as it was kept: {name}")
