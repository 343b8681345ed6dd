"""The month on paper and as a table."""

from fraginv.base.paper import render_pdf
from fraginv.base.queries.organisation import organisation_kept, today
from fraginv.base.rules.days import month_of, show_month
from fraginv.base.tables import write_csv, write_xlsx
from fraginv.costs.rules import Basis
from fraginv.reports.queries.months import month_figures, month_trend
from fraginv.reports.rules.figures import MonthFigures, largest_first
from fraginv.reports.rules.rows import HEADINGS, month_rows
from fraginv.reports.rules.trend import draw_chart

# So many rows of each table fit on the one page, whatever a month holds.
MOST_ROWS = 8
MOST_DIRECT = 4
CHART_HEIGHT = 280


def month_pdf(month: int, *, basis: str = Basis.SALES) -> bytes:
    """Return the board's page of a month; the same figures give the same bytes.

    Raises: InputError as ``month_figures``.
    Queries: as ``month_figures`` and ``month_trend`` together.
    """
    with organisation_kept() as house:
        figures = month_figures(month, basis=basis)
        trend = month_trend(month, basis=basis)
        chart = draw_chart(trend, height=CHART_HEIGHT)
        context = {
            "organisation": house,
            "figures": figures,
            "trend": trend,
            "chart": chart,
            "columns": list(zip(chart.slots, trend, strict=True)),
            "channels": largest_first(figures.by_channel, most=MOST_ROWS),
            "groups": largest_first(figures.by_group, most=MOST_ROWS),
            "kinds": largest_first(figures.running_by_kind, most=MOST_ROWS),
            "direct": largest_first(figures.direct_by_kind, most=MOST_DIRECT),
            "is_over": month < month_of(today()),
            "today": today(),
        }
        return render_pdf("reports/paper_month.html", context)


def month_csv(figures: MonthFigures) -> bytes:
    """Return a month as a CSV table.

    Queries: none.
    """
    return write_csv(HEADINGS, month_rows(figures))


def month_xlsx(figures: MonthFigures) -> bytes:
    """Return a month as a workbook.

    Queries: none.
    """
    return write_xlsx(HEADINGS, month_rows(figures), title=show_month(figures.month))
