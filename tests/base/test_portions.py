"""Pages of long lists: whole, in order, and at the same cost however deep."""

from collections.abc import Iterator

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base.errors import NotFound
from fraginv.base.models import Party
from fraginv.base.queries.portions import Portion, portion_of

pytestmark = pytest.mark.django_db
NAMES = ["Ash", "Birch", "Birch", "Birch", "Cedar", "Elm", "Elm"]


def pages(order: list[str], *, size: int) -> Iterator[Portion[Party]]:
    """Read a list of parties page by page to its end."""
    after: int | None = None
    while True:
        page = portion_of(Party.objects.all(), order=order, size=size, after=after)
        yield page
        after = page.after
        if after is None:
            return


@pytest.mark.parametrize("size", [1, 2, 3, 6, 7, 8])
@pytest.mark.parametrize("order", [["name", "pk"], ["-name", "-pk"], ["pk"], ["-pk"]])
def test_pages_follow_each_other_without_gap_or_repeat(order: list[str], size: int) -> None:
    """What one sorted reading gives is what the pages give, equal names included."""
    for name in NAMES:
        Party.objects.create(name=name)
    found = list(pages(order, size=size))
    assert [row for page in found for row in page.rows] == list(Party.objects.order_by(*order))
    assert [page.is_first for page in found] == [True] + [False] * (len(found) - 1)
    assert all(len(page.rows) == size for page in found[:-1])
    assert len(found) == -(-len(NAMES) // size)


def test_nothing_is_one_empty_page() -> None:
    assert list(pages(["pk"], size=3)) == [Portion([], None, is_first=True)]


def test_a_row_that_is_gone_is_no_place() -> None:
    with pytest.raises(NotFound, match="Begin with the first"):
        portion_of(Party.objects.all(), order=["name", "pk"], size=3, after=7)


def test_a_deep_page_asks_no_more_than_the_second(
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    rows = [Party.objects.create(name=f"Party {number:03d}") for number in range(60)]
    for after in (rows[4].pk, rows[54].pk):
        with django_assert_max_num_queries(2):
            portion_of(Party.objects.all(), order=["name", "pk"], size=5, after=after)
