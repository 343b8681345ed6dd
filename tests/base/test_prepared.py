"""Questions that are worked out once answer as those that are worked out each time."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from threading import Thread

import pytest
from django.db import connections
from django.db.models import Q, QuerySet
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.models import Code
from fraginv.base.queries.prepared import Prepared

DAWN = datetime(2026, 11, 25, 11, tzinfo=UTC)


@pytest.fixture
def codes(organisation: object) -> list[Code]:
    """Six codes, two an hour."""
    made: list[Code] = []
    for hours in range(3):
        with clock.at(DAWN + timedelta(hours=hours)):
            made += issue_blank_run(2)
    return made


def of_run(run: int, position: int) -> QuerySet[Code]:
    return Code.objects.filter(run=run, position=position)


def after(moment: datetime) -> QuerySet[Code]:
    return Code.objects.filter(Q(made_at__gt=moment) | Q(printed_at__gt=moment)).order_by("pk")


def named(code: str) -> QuerySet[Code, tuple[object, ...]]:
    return Code.objects.filter(pk=code).values_list("code", "made_at", "printed_at")


def test_each_answer_is_that_of_its_own_values(
    codes: list[Code], django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    by_run, by_name = Prepared[Code](of_run, int, int), Prepared[object](named, str)
    for code in codes:
        assert code.run is not None
        assert code.position is not None
        with django_assert_num_queries(1):
            assert by_run.answer(code.run, code.position) == [code]
        assert by_name.first(code.code) == (code.code, code.made_at, None)
    assert by_name.first("7K3Q9F2") is None
    assert by_run.answer(0, 0) == []


def test_a_moment_stands_in_as_many_places_as_it_is_asked_for(codes: list[Code]) -> None:
    later = Prepared[Code](after, datetime)
    for hours in range(-1, 4):
        moment = DAWN + timedelta(hours=hours)
        assert later.answer(moment) == list(after(moment))
    assert len(later.answer(DAWN)) == 4


def test_a_day_is_sent_as_the_engine_takes_it(codes: list[Code]) -> None:
    on_day = Prepared[Code](lambda day: Code.objects.filter(made_at__gte=day), date)
    with pytest.warns(RuntimeWarning, match="naive datetime"), pytest.raises(ValueError, match="0"):
        # A day that is asked of a moment becomes a moment first: it does not stand as it is.
        on_day.answer(date(2026, 11, 25))


ASKED: list[Callable[..., QuerySet[Code]]] = [
    lambda code: Code.objects.filter(code__icontains=code),
    lambda code: Code.objects.exclude(kind="blank"),
]


@pytest.mark.parametrize("ask", ASKED, ids=["changed on the way", "left out"])
def test_a_value_that_does_not_stand_in_the_words_is_refused(
    codes: list[Code], ask: Callable[..., QuerySet[Code]]
) -> None:
    with pytest.raises(ValueError, match="do not stand in the SQL as they are"):
        Prepared[Code](ask, str).answer("7K3")


@pytest.mark.django_db(transaction=True)
def test_each_thread_has_words_of_its_own(codes: list[Code]) -> None:
    by_name = Prepared[object](named, str)
    found: dict[int, object] = {}

    def ask(place: int) -> None:
        for _ in range(20):
            found[place] = by_name.first(codes[place].code)
        connections.close_all()

    threads = [Thread(target=ask, args=[place]) for place in range(len(codes))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found == {place: (code.code, code.made_at, None) for place, code in enumerate(codes)}
