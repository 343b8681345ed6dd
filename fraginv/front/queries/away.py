"""What is in quarantine and what is set apart, with what each waits for."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from fraginv.base.queries.organisation import today
from fraginv.base.queries.portions import Portion, portion_of
from fraginv.front.queries.rows import PAGE, FragRow, listed, rows_of
from fraginv.stock.models import Frag
from fraginv.stock.models.frags import HERE
from fraginv.stock.queries.quarantine import may_leave, quarantined, set_apart_since, stays_of
from fraginv.stock.rules.quarantine import Stay, why_stays


@dataclass(frozen=True)
class AwayRow:
    """One frag in quarantine: the day of its stay, and what is lacking."""

    row: FragRow
    stay: Stay
    day: int
    lacking: str
    dip_is_due: bool

    @property
    def frag(self) -> Frag:
        """Return the frag."""
        return self.row.frag


@dataclass(frozen=True)
class QuarantinePage:
    """What may leave now, the first of them, and a page of what may not."""

    leaving: Sequence[AwayRow]
    more_leaving: bool
    staying: Sequence[AwayRow]
    portion: Portion[Frag]


@dataclass(frozen=True)
class ApartRow:
    """One frag that is set apart: since when, and why."""

    row: FragRow
    since: date
    reason: str


def quarantine_page(*, after: int | None) -> QuarantinePage:
    """Return what is in quarantine, what may leave first, then by the day it came in.

    Raises: NotFound for a page that is not there.
    Queries: 5, and 1 more from the second page on.
    """
    day = today()
    done = may_leave(today=day)
    there = listed().filter(quarantined())
    leaving = list(there.filter(done).order_by("quarantined_on", "pk")[: PAGE + 1])
    portion = portion_of(
        there.exclude(done), order=["quarantined_on", "pk"], size=PAGE, after=after
    )
    stays = stays_of([*leaving, *portion.rows])
    return QuarantinePage(
        leaving=away_rows(leaving[:PAGE], stays=stays, day=day) if after is None else [],
        more_leaving=len(leaving) > PAGE,
        staying=away_rows(portion.rows, stays=stays, day=day),
        portion=portion,
    )


def away_rows(frags: Sequence[Frag], *, stays: dict[int, Stay], day: date) -> list[AwayRow]:
    """Return rows of frags that are in quarantine.

    Queries: none.
    """
    return [
        AwayRow(
            row=row,
            stay=stays[row.frag.pk],
            day=stays[row.frag.pk].day_of(day),
            lacking=why_stays(stays[row.frag.pk], today=day),
            dip_is_due=row.frag.dip_due_on is not None and row.frag.dip_due_on <= day,
        )
        for row in rows_of(frags)
    ]


def apart_page(*, after: int | None) -> tuple[list[ApartRow], Portion[Frag]]:
    """Return a page of what is set apart, the latest cut first, with since when and why.

    Raises: NotFound for a page that is not there.
    Queries: 2, and 1 more from the second page on.
    """
    apart = listed().filter(HERE, apart=True)
    portion = portion_of(apart, order=["-pk"], size=PAGE, after=after)
    since = set_apart_since(frag.pk for frag in portion.rows)
    rows = [
        ApartRow(row, *since.get(row.frag.pk, (row.frag.cut_on, "")))
        for row in rows_of(portion.rows)
    ]
    return rows, portion
