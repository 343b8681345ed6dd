"""The main job on the command line from end to end, each command a process of its own."""

import os
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import uuid4

import psycopg
import pytest
from django.db import connection

from fraginv.base.rules.codes import read_code
from tests.base.papers import symbols_of
from tests.front.running import PASSWORD, Line

pytestmark = pytest.mark.xdist_group("line")

VARIETIES = """name,genus,species,group,note
Harbour Lantern,Acropora,,,
Pier Moss,Zoanthus,,,bright
"""
# The 1st sale, both lines of one day and channel without a customer: 50.00 and tax 3.125, so
# 3.13; 12.50 - 2.50 = 10.00 and tax 0.625, so 0.63. The 2nd: 90.00, no tax. The 3rd: 24.00
# and the tax stated. The 4th is of the next month.
SALES = """day,customer,kind,channel,variety,code,quantity,unit_price,discount,tax_rate,tax,paid,\
means
2025-02-14,,,open day,Harbour Lantern,,2,25.00,,0.0625,,53.13,cash
2025-02-14,,,open day,Pier Moss,,1,12.50,2.50,0.0625,,10.63,card
2025-02-20,Grotto & Daughters,shop,order,Harbour Lantern,{lot},5,18.00,,,,90.00,transfer
2025-02-28,Grotto & Daughters,shop,order,Pier Moss,,3,8.00,,,1.50,,
2025-03-01,,,counter,Pier Moss,,1,40.00,,,,40.00,cash
"""
COSTS = """day,kind,supplier,amount,serves,note
2025-02-03,Electricity,Harbour Power,120.50,,February
2025-02-10,Salt,Harbour Salt,80.00,display,
2025-02-12,Plugs and glue,,12.25,frags,
2025-03-03,Electricity,Harbour Power,99.00,,March
"""
# Gross 50.00 + 12.50 + 90.00 + 24.00; tax 3.13 + 0.63 + 1.50; running costs 120.50 + 80.00.
# Share 174.00 / 200.50 = 0.86783; after direct costs 161.75 / 200.50 = 0.80673.
MONTH: dict[str, Any] = {
    "month": "2025-02",
    "currency": "USD",
    "basis": "sales",
    "income": {
        "gross": 17650,
        "discounts": 250,
        "credits": 0,
        "net": 17400,
        "by_channel": {"open day": 6000, "order": 11400},
        "by_group": {"SPS": 14000, "zoanthid": 3400},
    },
    "tax_collected": 526,
    "receipts": {"total": 15376, "by_means": {"cash": 5313, "card": 1063, "transfer": 9000}},
    "running_costs": {
        "total": 20050,
        "by_kind": {"Electricity": 12050, "Salt": 8000},
        "metered": 0,
        "in_kind": 0,
    },
    "direct_costs": {"total": 1225, "by_kind": {"Plugs and glue": 1225}},
    "share_carried": "0.8678",
    "share_carried_net": "0.8067",
    "result": 17400 - 1225 - 20050,
    "owed_to_owners": 0,
    "frags": {"cut": 42, "lost": 0, "sold": 11, "ready_at_end": 0},
}
# On the cash basis the sale that was not paid is not there: 60.00 and 90.00 came in for goods.
CASH_INCOME = {"gross": 15000, "discounts": 0, "credits": 0, "net": 15000}

COLONY = """
from datetime import date
from fraginv.base.queries.people import first_owner
from fraginv.stock.actions.colonies import add_colony
from fraginv.stock.models import Variety
variety = Variety.objects.get(name="Harbour Lantern")
colony = add_colony(variety, by=first_owner(), acquired_on=date(2024, 1, 1), rest_days=30)
print(colony.code_id)
"""
READY = """
from datetime import date
from fraginv.base.queries.people import first_owner
from fraginv.front.drawings.frag import draw_frag
from fraginv.growth.actions.photos import file_photo
from fraginv.stock.actions.grading import grade_frags
from fraginv.stock.models import Frag
from fraginv.trade.actions.pricing import set_price
from fraginv.trade.queries.prices import get_kind
by = first_owner()
lot = Frag.objects.get(is_lot=True)
grade_frags([lot.pk], size="M", by=by)
set_price(2500, kind=get_kind("retail"), variety=lot.variety, first_day=date(2024, 1, 1), by=by)
file_photo(lot, data=draw_frag("SPS", hue=200, seed=1, age=30, form=0), by=by)
"""
COUNTS = """
from django.apps import apps
print({model._meta.label: model._base_manager.count() for model in apps.get_models()})
"""
FAULTS = """
from django.conf import settings
from django.db import connection
from fraginv.growth.models import Photo
from pathlib import Path
with connection.cursor() as cursor:
    cursor.execute("UPDATE stock_fragevent SET body = '{\\"cutting\\": 9, \\"pieces\\": 1}'"
        " WHERE seq = 1 AND frag_id = (SELECT min(id) FROM stock_frag WHERE code_id = %s)",
        [CHANGED])
    cursor.execute("UPDATE trade_sale SET gross = gross + 100, net = net + 100,"
        " total = total + 100 WHERE series = 'IS' AND year = 2025 AND number = 1")
    cursor.execute("UPDATE stock_frag SET free = 0 WHERE code_id = %s", [FREE])
for file in Path(settings.FRAGINV_HOME, "media").rglob("original*"):
    file.unlink()
"""


def another_database(*, like: str = "") -> dict[str, str]:
    """Return the environment of a home of its own, with a database on the tests' engine."""
    if connection.vendor == "sqlite":
        return {}
    server = os.environ["DATABASE_URL"]
    name = f"line_{uuid4().hex[:12]}"
    with psycopg.connect(server, autocommit=True) as asked:
        asked.execute(f"CREATE DATABASE {name} {f'TEMPLATE {like}' if like else ''}".encode())
    return {"DATABASE_URL": f"{server.rsplit('/', 1)[0]}/{name}"}


@dataclass(frozen=True)
class Story:
    """What the commands said on the way."""

    line: Line
    folder: Path
    colony: str
    singles: list[str]
    lot: str
    loaded: dict[str, Any]

    def copy(self, home: Path) -> Line:
        """Return the command line of a copy, to do harm to."""
        shutil.copytree(self.line.home, home)
        like = self.line.environment.get("DATABASE_URL", "").rsplit("/", 1)[-1]
        return Line(home, another_database(like=like))


def write(folder: Path, name: str, text: str) -> Path:
    file = folder / name
    file.write_text(text, encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def story(tmp_path_factory: pytest.TempPathFactory) -> Story:
    """The main job, once."""
    folder = tmp_path_factory.mktemp("line")
    line = Line(folder / "home", another_database())
    begun = line.told(
        *("start", "--no-serve", "--organisation", "Tidewater Hall", "--currency", "USD"),
        *("--zone", "America/New_York", "--owner", "Mira Holt"),
        FRAGINV_PASSWORD=PASSWORD,
    )
    assert begun["owner"] == "mira.holt"
    loaded = {"varieties": line.told("load", "varieties", write(folder, "v.csv", VARIETIES))}
    colony = line.python(COLONY).strip()
    day = ("--colony", colony, "--day", "2025-02-10")
    singles = line.told("cut", *day, "--pieces", "12", "--lost", "1")
    lot = line.told("cut", *day, "--pieces", "30", "--lot")
    assert (singles["pieces"], singles["lost"], lot["lot"]) == (12, 1, True)
    (lot_code,) = lot["codes"]
    line.python(READY)
    sales = write(folder, "s.csv", SALES.format(lot=lot_code))
    loaded["sales"] = line.told("load", "sales", sales)
    loaded["costs"] = line.told("load", "costs", write(folder, "c.csv", COSTS))
    return Story(line, folder, colony, singles["codes"], lot_code, loaded)


def test_every_row_was_brought_in(story: Story) -> None:
    assert {kind: told["rows"] for kind, told in story.loaded.items()} == {
        "varieties": 2,
        "sales": 5,
        "costs": 4,
    }
    assert any("Grotto & Daughters" in said for said in story.loaded["sales"]["said"])
    assert any("Plugs and glue" in said for said in story.loaded["costs"]["said"])


def test_labels_read_back_as_what_was_cut(story: Story) -> None:
    out = story.folder / "labels.pdf"
    codes = [*story.singles, story.lot]
    told = story.line.told("labels", *codes, "--out", out)
    read = [read_code(one.text) for page in symbols_of(out.read_bytes()) for one in page]
    assert len(codes) == len(set(codes)) == 13
    assert sorted(read) == sorted(codes) == sorted(told["codes"])


def test_the_month_is_what_was_worked_out_by_hand(story: Story) -> None:
    assert story.line.told("month", "2025-02") == MONTH


def test_the_month_on_the_cash_basis_is_what_came_in(story: Story) -> None:
    told = story.line.told("month", "2025-02", "--basis", "cash")
    assert {name: told["income"][name] for name in CASH_INCOME} == CASH_INCOME
    assert told["income"]["by_channel"] == {"open day": 6000, "order": 9000}
    assert told["receipts"] == MONTH["receipts"]
    assert told.keys() == MONTH.keys()


def test_the_month_as_files(story: Story) -> None:
    for ending, mark in ((".pdf", b"%PDF-"), (".csv", b""), (".xlsx", b"PK\x03\x04")):
        out = story.folder / f"month{ending}"
        assert story.line.told("month", "2025-02", "--out", out) == MONTH
        assert out.read_bytes().startswith(mark)
    assert "174.00" in (story.folder / "month.csv").read_text(encoding="utf-8")


def test_the_sheet_has_what_is_left_of_the_lot(story: Story) -> None:
    told = story.line.told("sheet")
    (line,) = told["lines"]
    assert (line["variety"], line["size"], line["pieces"]) == ("Harbour Lantern", "M", 25)
    assert (line["price"], told["currency"]) == (2500, "USD")


def test_everything_agrees(story: Story) -> None:
    assert story.line.told("verify") == {"differences": []}


def test_a_second_start_changes_nothing(story: Story) -> None:
    before = story.line.python(COUNTS)
    told = story.line.told("start", "--no-serve", "--organisation", "Another", "--owner", "Tom")
    assert (told["organisation"], told["owner"]) == (None, None)
    assert story.line.python(COUNTS) == before


def test_each_planted_fault_is_named(story: Story, tmp_path: Path) -> None:
    line = story.copy(tmp_path / "home")
    changed, free = story.singles[0], story.singles[1]
    line.python(f"CHANGED, FREE = {changed!r}, {free!r}\n{FAULTS}")
    ran = line("verify", "--json")
    assert ran.status == 1
    assert "differences found" in ran.err
    found = [f"{one['where']}: {one['what']}" for one in ran.document["differences"]]

    def named(*words: str) -> bool:
        return any(all(word in text for word in words) for text in found)

    def shown(code: str) -> str:
        return f"{code[:3]}-{code[3:6]}-{code[6:]}"

    assert named(shown(changed), "event 1", "was changed"), found
    assert named("IS-2025-0001", "lines add up to"), found
    assert named(shown(free), "free is 0 of 1 pieces"), found
    assert named(shown(story.lot), "missing in the storage"), found
    assert story.line.told("verify") == {"differences": []}


def test_a_bad_line_of_each_command_leaves_everything_as_it_was(story: Story) -> None:
    before = story.line.python(COUNTS)
    missing = story.folder / "missing.csv"
    for arguments, said in (
        (("cut", "--colony", story.colony, "--pieces", "0"), "0 living pieces"),
        (("labels", "7K3-Q9F-N", "--out", missing), "7K3-Q9F-N"),
        (("load", "sales", missing), "missing.csv"),
        (("month", "2026-13"), "2026-13"),
        (("sheet", "--for", "Nobody Known"), "Nobody Known"),
        (("start", "--no-serve", "--port", "many"), "many"),
        (("verify", "everything"), "everything"),
    ):
        ran = story.line(*arguments, "--json")
        assert (ran.status, ran.out) == (1, ""), arguments
        assert said in ran.err
        assert "Traceback" not in ran.err
    assert not missing.exists()
    assert story.line.python(COUNTS) == before
