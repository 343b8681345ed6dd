"""A month as rows of a table."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Final

from fraginv.base.rules.days import show_month
from fraginv.base.rules.money import exponent
from fraginv.reports.rules.figures import MonthFigures, share_text

HEADINGS: Final = ("month", "basis", "part", "item", "value", "unit")
Row = tuple[str, str, str, str, Decimal | int, str]
Part = tuple[str, str, int]


def month_rows(figures: MonthFigures) -> list[Row]:
    """Return every figure of a month, one a row: amounts as decimal numbers, pieces, shares."""
    begin = (show_month(figures.month), figures.basis)
    places = exponent(figures.currency)
    amounts: list[Row] = [
        (*begin, part, item, Decimal(minor).scaleb(-places), figures.currency)
        for part, item, minor in amount_parts(figures)
    ]
    shares: list[Row] = [
        (*begin, "share carried", item, Decimal(text), "of running costs")
        for item, text in (
            ("before direct costs", share_text(figures.share_carried)),
            ("after direct costs", share_text(figures.share_carried_net)),
        )
        if text is not None
    ]
    frags: list[Row] = [
        (*begin, "frags", item, count, "pieces") for item, count in frag_parts(figures)
    ]
    return [*amounts, *shares, *frags]


def amount_parts(figures: MonthFigures) -> Iterator[Part]:
    """Yield every amount of a month in minor units, under its part and name."""
    yield "income", "gross", figures.gross
    yield "income", "discounts", figures.discounts
    yield "income", "credits", figures.credits
    yield "income", "net", figures.net
    yield from named("income by channel", figures.by_channel)
    yield from named("income by group", figures.by_group)
    yield "tax", "collected", figures.tax_collected
    yield "receipts", "total", figures.receipts
    yield from named("receipts by means", figures.receipts_by_means)
    yield "running costs", "total", figures.running
    yield from named("running costs by kind", figures.running_by_kind)
    yield "running costs", "metered, within the total", figures.metered
    yield "running costs", "given in kind, beside the total", figures.in_kind
    yield "direct costs", "total", figures.direct
    yield from named("direct costs by kind", figures.direct_by_kind)
    yield "direct costs", "given in kind, beside the total", figures.in_kind_direct
    yield "result", "net income less direct and running costs", figures.result
    yield "owners of corals", "owed for this month", figures.owed_to_owners


def named(part: str, amounts: Mapping[str, int]) -> Iterator[Part]:
    """Yield the amounts of one part by name."""
    for name in sorted(amounts):
        yield part, name, amounts[name]


def frag_parts(figures: MonthFigures) -> Iterator[tuple[str, int]]:
    """Yield the numbers of pieces of a month."""
    frags = figures.frags
    yield "cut or received", frags.cut
    yield "lost in the troughs", frags.lost
    yield "lost at the bench", frags.lost_at_bench
    yield "sold", frags.sold
    yield "ready at the end", frags.ready_at_end
