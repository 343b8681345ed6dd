"""``load`` brings in a table, all rows or none."""

import json
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from fraginv.base.tables import write_xlsx
from fraginv.costs.models import Bill
from fraginv.ledger.models import Entry
from fraginv.stock.models import Variety
from fraginv.trade.models import Sale
from tests.conftest import People
from tests.factories import make_variety
from tests.trade.rows import open_shop

VARIETIES = "name,genus,species,group,note\nHarbour Lantern,Acropora,,,\nPier Moss,Zoanthus,,,shy\n"
COSTS = "day,kind,amount\n2026-01-05,Power,420.00\n2026-01-09,Salt,88.50\n"
SALES = (
    "day,customer,kind,channel,variety,quantity,unit_price\n"
    "2026-01-05,,retail,counter,Old Ember,2,12.50\n"
)


def run(*arguments: object) -> str:
    """Run the command and return what it prints."""
    out = StringIO()
    call_command("load", *map(str, arguments), stdout=out)
    return out.getvalue()


@pytest.fixture
def folder(tmp_path: Path, people: People) -> Path:
    for kind, text in {"varieties": VARIETIES, "costs": COSTS, "sales": SALES}.items():
        (tmp_path / f"{kind}.csv").write_text(text, encoding="utf-8")
    return tmp_path


def test_varieties(folder: Path) -> None:
    file = folder / "varieties.csv"
    assert "could be brought in; nothing was written" in run("varieties", file, "--dry-run")
    assert not Variety.objects.exists()
    told = json.loads(run("varieties", file, "--json"))
    assert told == {"kind": "varieties", "rows": 2, "said": [], "dry_run": False}
    assert list(Variety.objects.values_list("name", "group", "note")) == [
        ("Harbour Lantern", "SPS", ""),
        ("Pier Moss", "zoanthid", "shy"),
    ]


def test_costs_say_which_kinds_are_new(folder: Path) -> None:
    told = run("costs", folder / "costs.csv")
    assert "2 rows of costs brought in." in told
    assert "Power" in told
    assert Bill.objects.count() == Entry.objects.count() == 2


def test_sales_have_a_series_of_their_own(folder: Path, people: People) -> None:
    shop = open_shop(people)
    make_variety(shop.manager, name="Old Ember")
    posted = shop.sell(shop.priced_lot(5), 1)
    run("sales", folder / "sales.csv")
    loaded = Sale.objects.exclude(pk=posted.pk).get()
    assert loaded.net == 2500
    assert loaded.series != posted.series


def test_a_workbook_is_read_as_well(folder: Path) -> None:
    file = folder / "varieties.xlsx"
    file.write_bytes(write_xlsx(["name", "genus"], [["Night Ferry", "Montipora"]]))
    run("varieties", file)
    assert Variety.objects.get().name == "Night Ferry"


WRONG: list[tuple[bytes, str]] = [
    (b"name,breed\nA,Acropora\n", "line 1, breed: not a column of this table"),
    (VARIETIES.encode("utf-16"), "UTF-8"),
    ("name,genus\nR\xe9cif,Acropora\n".encode("latin-1"), "UTF-8"),
    (b"name;genus\nA;Acropora\n", "separated by semicolons"),
    (b"name,genus\n=1+1,Acropora\n", "starts like a formula"),
    (b"name,genus\n" + b"A,Acropora\n" * 50_001, "more than 50,000 rows"),
    (b"", "the table is empty"),
    (b"name,genus\nGood,Acropora\nBad,Acropra\n", "line 3, genus"),
]


@pytest.mark.parametrize(("data", "said"), WRONG, ids=[said for _, said in WRONG])
def test_wrong_tables_say_where_and_why_and_write_nothing(
    folder: Path, data: bytes, said: str
) -> None:
    file = folder / "wrong.csv"
    file.write_bytes(data)
    with pytest.raises(CommandError, match=said) as told:
        run("varieties", file)
    assert told.value.returncode == 1
    assert not Variety.objects.exists()


def test_amount_with_thousands_separators(folder: Path) -> None:
    file = folder / "costs.csv"
    file.write_text('day,kind,amount\n2026-01-05,Power,"1,420.00"\n', encoding="utf-8")
    with pytest.raises(CommandError, match="line 2, amount"):
        run("costs", file)
    assert not Bill.objects.exists()


@pytest.mark.parametrize("kind", ["varieties", "sales", "costs"])
def test_columns_are_told_one_a_line(folder: Path, kind: str) -> None:
    lines = run(kind, "--columns").splitlines()
    names = [one["name"] for one in json.loads(run(kind, "--columns", "--json"))["columns"]]
    assert [line.partition(":")[0] for line in lines] == names
    assert "(may be left out)" in lines[-1]


def test_missing_file_and_unknown_kind(folder: Path) -> None:
    with pytest.raises(CommandError, match="Name the file: load costs FILE"):
        run("costs")
    with pytest.raises(CommandError, match="nothing.csv cannot be read: No such file"):
        run("costs", folder / "nothing.csv")
    with pytest.raises(CommandError, match="invalid choice: 'corals'"):
        run("corals", folder / "costs.csv")
