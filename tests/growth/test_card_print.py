"""The measuring card as it is printed is the one that photographs are searched for."""

import numpy as np
import pytest

from fraginv.base.models import Organisation
from fraginv.base.rules.card import MARKERS, PAPERS, CardPaper
from fraginv.growth.rules.camera import through
from fraginv.growth.seeing.edges import Grey, joined
from fraginv.growth.seeing.fitting import fit_grid
from fraginv.growth.seeing.markers import card_matrix, find_markers
from fraginv.growth.seeing.sights import marker_edges
from fraginv.labels.queries.card import card_pdf
from tests.labels.sheets_seen import Seen, seen_page


def grey_of(seen: Seen) -> Grey:
    """Return a page as a photograph has it."""
    return np.round(255 * (1 - seen.dark)).astype(np.uint8)


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS)
@pytest.mark.parametrize("dpi", [200, 300])
def test_every_printed_marker_is_found_where_the_rule_has_it(
    organisation: Organisation, paper: CardPaper, dpi: int
) -> None:
    page = seen_page(card_pdf(paper.name), dpi=dpi)
    grey = grey_of(page)
    seen = find_markers(grey)
    assert sorted(found.marker.number for found in seen) == [one.number for one in MARKERS]
    start = card_matrix(seen)
    assert start is not None
    matrix, _ = fit_grid(grey, edges=joined(list(marker_edges())), start=start)
    corners = np.vstack([marker.place.corners for marker in MARKERS])
    found_mm = (through(matrix, corners) + 0.5) / [page.across, page.down]
    assert found_mm == pytest.approx(corners + [paper.left_mm, paper.top_mm], abs=0.02)
