"""What is asked all day is answered out of indexes, however much there ever was.

Each engine says how it will go about a question: no table that grows for ever
is read from end to end, and what a page shows is not sorted first. SQLite
documentation, "EXPLAIN QUERY PLAN": SCAN without an index reads all rows, a
temporary B-tree sorts them. PostgreSQL documentation, section 14.1: Seq Scan
reads all rows; of few it does so all the same, unless ``enable_seqscan`` is off,
which leaves it, and likewise a sort, only where there is no other way.
"""

import re
from collections.abc import Callable
from contextlib import suppress

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fraginv.base.errors import NotFound
from fraginv.base.models import Person
from fraginv.base.queries.tallies import tallies_of_month, tally_until
from fraginv.base.rules.roles import Role
from fraginv.front.queries.colony_lists import colony_page_of
from fraginv.front.queries.find import find, find_while_typing
from fraginv.front.queries.frag_lists import frag_list
from fraginv.front.queries.today import today_page
from fraginv.front.rules.colony_filters import ColonyFilter
from fraginv.front.rules.frag_filters import FragFilter
from fraginv.labels.actions.printing import start_run
from fraginv.labels.queries.lost import lost_page
from fraginv.labels.queries.rolls import roll_list
from fraginv.labels.queries.runs import run_list
from fraginv.ledger.queries import journal
from fraginv.stock.queries.frags import frag_by_code
from fraginv.stock.queries.places import systems_on, trough_page
from fraginv.trade.actions.customers import add_customer
from fraginv.trade.queries.customers import customers_list, sales_to
from fraginv.trade.queries.months import income_of_months, sales_of_month
from fraginv.trade.queries.papers import owing, recent_sales
from fraginv.trade.queries.prices import get_kind
from tests.conftest import People
from tests.factories import make_frags

# Tables that grow as long as the house stands.
GROWING = (
    *(
        "base_code",
        "base_oldcode",
        "base_tally",
        "base_word",
        "ledger_entry",
        "ledger_line",
        "stock_claim",
    ),
    *("stock_cutting", "stock_frag", "stock_fragevent", "trade_balance", "trade_sale"),
    *("trade_saleline", "trade_payment", "trade_taking"),
    *("labels_printrun", "labels_printedlabel", "labels_lostlabel"),
)
Ask = Callable[[Person], object]


def look_up(code: str) -> None:
    """Look for a code that no frag carries."""
    with suppress(NotFound):
        frag_by_code(code)


ASKED: dict[str, Ask] = {
    "living frags": lambda by: frag_list(FragFilter()),
    "living frags, further on": lambda by: frag_list(FragFilter(), after=2),
    "frags sold": lambda by: frag_list(FragFilter(stage="sold")),
    "frags sold, further on": lambda by: frag_list(FragFilter(stage="sold"), after=2),
    "frags for sale": lambda by: frag_list(FragFilter(stage="sale")),
    "frags of a variety": lambda by: frag_list(FragFilter(variety=1)),
    "frags sold of a variety": lambda by: frag_list(FragFilter(variety=1, stage="sold")),
    "frags by a code's beginning": lambda by: frag_list(FragFilter(text="7K3Q")),
    "colonies": lambda by: colony_page_of(ColonyFilter()),
    "first page": lambda by: today_page(),
    "places": lambda by: systems_on(trough_page(after=None)),
    "one frag": lambda by: look_up("7K3Q9FN"),
    "find": lambda by: find("xyz", reader=by),
    "find while typing": lambda by: find_while_typing("rack 7", reader=by),
    "find an old code": lambda by: find_while_typing("A-17", reader=by),
    "sales": lambda by: list(recent_sales()),
    "what is owed": lambda by: list(owing(limit=40)),
    "customers": lambda by: customers_list(size=50),
    "a customer's sales": lambda by: sales_to(
        add_customer("Harbour Shop", kind=get_kind(), by=by), size=50
    ),
    "journal": lambda by: journal(202611, size=50),
    "a month's sums": lambda by: tallies_of_month(202611),
    "a sum so far": lambda by: tally_until("stock/ready", month=202611),
    "a month of sales": lambda by: sales_of_month(202611),
    "ten years": lambda by: income_of_months(201612, last=202611),
    "print runs, further on": lambda by: run_list(after=start_run((), blank=1, by=by).pk),
    "blank labels on hand": lambda by: roll_list(after=2),
    "lost labels": lambda by: lost_page(),
}
# Few at a time: one, holds that end within a day, what was found by a name, customers whose
# names are equal.
SORTED = {
    *("first page", "one frag", "find", "frags by a code's beginning"),
    *("find while typing", "find an old code"),
    *("colonies", "places", "customers"),
}


def asked(ask: Callable[[], object]) -> list[str]:
    """Return the questions that are put to the database, with their values in them."""
    with CaptureQueriesContext(connection) as captured:
        ask()
    return [row["sql"] for row in captured if row["sql"].startswith("SELECT")]


def plan_of(sql: str, *, in_order: bool = False) -> str:
    """Return how the engine will answer a question, one step a line.

    PostgreSQL avoids what is off where it can: reading a whole table, and with
    ``in_order`` whatever leaves rows to be sorted, such as a bitmap of several indexes.
    """
    ways = ["seqscan", "hashjoin", "mergejoin", *(["bitmapscan", "sort"] if in_order else [])]
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            for way in ways:
                cursor.execute(f"SET LOCAL enable_{way} = off")
            cursor.execute(f"EXPLAIN {sql}")
            return "\n".join(row[0] for row in cursor.fetchall())
        cursor.execute(f"EXPLAIN QUERY PLAN {sql}")
        return "\n".join(row[3] for row in cursor.fetchall())


def read_whole(plan: str) -> list[str]:
    """Name the growing tables that a plan reads from end to end."""
    if connection.vendor == "postgresql":
        found = re.findall(r"Seq Scan on (\w+)", plan)
    else:
        found = re.findall(r"^SCAN (\w+)(?! USING)", plan, re.MULTILINE)
    return [table for table in found if table in GROWING]


def sorts(plan: str) -> bool:
    """Tell whether a plan sorts rows before it shows the first of them."""
    return bool(re.search(r"USE TEMP B-TREE FOR ORDER BY|Sort Key:", plan))


@pytest.fixture
def grower(people: People) -> Person:
    """Somebody with frags, so that statements about them are asked."""
    make_frags(people[Role.GROWER], 3, ready=True)
    return people[Role.MANAGER]


@pytest.mark.parametrize("name", ASKED)
def test_no_growing_table_is_read_whole(grower: Person, name: str) -> None:
    questions = asked(lambda: ASKED[name](grower))
    assert questions
    wrong = {sql: plan for sql in questions for plan in [plan_of(sql)] if read_whole(plan)}
    assert not wrong


@pytest.mark.parametrize("name", [name for name in ASKED if name not in SORTED])
def test_nothing_is_sorted_that_an_index_has_in_order(grower: Person, name: str) -> None:
    plans = [plan_of(sql, in_order=True) for sql in asked(lambda: ASKED[name](grower))]
    assert plans
    assert not [plan for plan in plans if sorts(plan)]


def test_a_question_that_sorts_is_found(grower: Person) -> None:
    ready = "SELECT * FROM stock_frag WHERE stage = 'ready' ORDER BY"
    assert sorts(plan_of(f"{ready} medium", in_order=True))
    assert not sorts(plan_of(f"{ready} id DESC", in_order=True))


PLANTED = [
    ("SELECT * FROM stock_frag WHERE medium = 'plug'", True),
    ("SELECT * FROM trade_sale WHERE note = 'x'", True),
    ("SELECT * FROM stock_frag WHERE id = 1 OR code_id = '7K3Q9FN'", False),
]


@pytest.mark.parametrize(("sql", "whole"), PLANTED)
def test_a_question_without_an_index_is_found(grower: Person, sql: str, whole: bool) -> None:
    assert bool(read_whole(plan_of(sql))) is whole
