"""What each command refuses: it says what and where, and nothing is written."""

from collections.abc import Callable
from datetime import timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.core.management import CommandError, call_command

from fraginv.base.queries.organisation import today
from fraginv.base.rules.roles import Role
from fraginv.stock.models import Colony
from tests.conftest import People
from tests.factories import make_colony, make_variety

SALES = (
    "day,customer,kind,channel,variety,code,quantity,unit_price,discount,tax_rate,tax,paid,means"
)
COSTS = "day,kind,supplier,amount,serves,note"
VARIETIES = "name,genus,species,group,note"
SALE = "2025-02-14,,,counter,Pier Moss,,1,10.00,,,,,"

Refuse = Callable[..., None]


def counts() -> dict[str, int]:
    """Count the rows of every table."""
    return {model._meta.label: model._base_manager.count() for model in apps.get_models()}


@pytest.fixture
def colony(transactional_db: None, people: People) -> Colony:
    """A colony under rest; each command commits for itself, as it does for people."""
    grower = people[Role.GROWER]
    colony = make_colony(grower, variety=make_variety(grower, name="Pier Moss"), rest_days=90)
    day = (today() - timedelta(days=10)).isoformat()
    call_command("cut", colony=colony.code_id, pieces=1, day=day, stdout=StringIO())
    return colony


@pytest.fixture
def refuse(colony: Colony) -> Refuse:
    """Run a command that must fail with a message, saying nothing else, writing nothing."""
    before = counts()

    def run(command: str, *arguments: str, said: tuple[str, ...]) -> None:
        out = StringIO()
        with pytest.raises(CommandError) as failed:
            call_command(command, *arguments, "--json", stdout=out)
        message = str(failed.value)
        assert failed.value.returncode == 1
        for words in said:
            assert words in message, (arguments, message)
        assert out.getvalue() == ""
        assert counts() == before, arguments

    return run


def test_cuttings_that_cannot_be(colony: Colony, refuse: Refuse) -> None:
    tomorrow = (today() + timedelta(days=2)).isoformat()
    cases: list[tuple[dict[str, Any], str]] = [
        ({"pieces": 0}, "0 living pieces: one cutting gives 1 to 500"),
        ({"pieces": -3}, "-3 living pieces"),
        ({"pieces": 10_000}, "10,000 living pieces"),
        ({"lost": -1}, "-1 lost at the bench"),
        ({"lost": 10_000}, "10,000 lost at the bench"),
        ({"day": tomorrow}, f"{tomorrow} has not come yet"),
        ({"day": "25.11.2026"}, "25.11.2026"),
        ({"day": "2026-02-30"}, "2026-02-30"),
        ({"day": "1999-01-01"}, "is before the colony came in"),
        ({}, "rests until"),
        ({"on": "brick"}, "'brick': frags stand on one of"),
        ({"colony": "7K3-Q9F-M"}, "A character in 7K3-Q9F-M is wrong"),
        ({"colony": "7K3-Q9F-N"}, "7K3-Q9F-N"),
        ({"colony": "7K3"}, "A code has 7 characters"),
        ({"codes": "7K3-Q9F-N", "despite-rest": "asked for"}, "7K3-Q9F-N"),
        ({"codes": colony.code_id, "despite-rest": "asked for"}, "is in use already"),
    ]
    for changes, said in cases:
        asked = {"colony": colony.code_id, "pieces": 1} | changes
        refuse("cut", *(f"--{name}={value}" for name, value in asked.items()), said=(said,))


def test_tables_of_sales_that_cannot_be_loaded(refuse: Refuse, tmp_path: Path) -> None:
    cases: list[tuple[str, tuple[str, ...]]] = [
        ("", ("the table is empty",)),
        (f"{SALES}\n", ("no rows under its headings",)),
        ("day,what,quantity\n", ("line 1, what", "not a column", "unit_price: the column is")),
        (f"{SALES.replace(',', ';')}\n", ("separated by semicolons",)),
        (SALE.replace("10.00", '"1,000.00"'), ("line 2, unit_price", "1,000.00")),
        (SALE.replace("10.00", "=5+5"), ("line 2, unit_price", "=5+5")),
        (SALE.replace("10.00", "$10"), ("line 2, unit_price", "$10")),
        (SALE.replace("10.00", "-10"), ("line 2, unit_price",)),
        (SALE.replace("10.00", "10.005"), ("line 2, unit_price", "10.005")),
        (SALE.replace("Pier Moss", "=HYPERLINK(1)"), ("line 2, variety", "=HYPERLINK(1)")),
        (SALE.replace("Pier Moss", "Peer Moss"), ("line 2, variety", "nearest is Pier Moss")),
        (SALE.replace("2025-02-14", "2099-01-01"), ("line 2, day", "2099-01-01 is in the future")),
        (SALE.replace("2025-02-14", "14.02.2025"), ("line 2, day", "14.02.2025")),
        (SALE.replace("counter", "market"), ("line 2, channel", "market")),
        (SALE.replace(",1,", ",0,"), ("line 2, quantity",)),
        (SALE.replace(",1,", ",-1,"), ("line 2, quantity",)),
        (SALE.replace(",,1,", ",7K3-Q9F-M,1,"), ("line 2, code", "is wrong")),
        (SALE.replace(",,,,,", ",11.00,,,,"), ("line 2, discount", "11.00 is more than")),
        (SALE.replace(",,,,,", ",,,,10.01,"), ("line 2, paid", "10.01 is paid", "10.00 with tax")),
        (SALE.replace(",,,,,", ",,6.25,,,"), ("line 2, tax_rate", "6.25")),
        (f"{SALE}\n{SALE}\n{SALE.replace('10.00', 'ten')}", ("line 4, unit_price", "ten")),
    ]
    file = tmp_path / "sales.csv"
    for text, said in cases:
        heading = f"{SALES}\n" if text.startswith("2") or text.startswith("1") else ""
        file.write_text(heading + text, encoding="utf-8")
        refuse("load", "sales", str(file), said=said)


def test_every_bad_row_is_named_at_once(refuse: Refuse, tmp_path: Path) -> None:
    file = tmp_path / "costs.csv"
    rows = ["2025-02-03,Salt,,ten,,", "2025-02-03,Salt,,10,,", "2099-01-01,Salt,,10,all,"]
    file.write_text("\n".join([COSTS, *rows]), encoding="utf-8")
    said = ("line 2, amount", "line 4, serves", "nothing was loaded")
    refuse("load", "costs", str(file), said=said)


@pytest.mark.parametrize("kind", ["varieties", "sales", "costs"])
def test_files_that_are_no_such_table(refuse: Refuse, tmp_path: Path, kind: str) -> None:
    heading = {"varieties": VARIETIES, "sales": SALES, "costs": COSTS}[kind]
    text = f"{heading}\nMörk\n"
    too_many = f"{heading}\n" + ("x" + "," * heading.count(",") + "\n") * 50_001
    cases: list[tuple[bytes, str]] = [
        (text.encode("utf-16"), "the file is in UTF-16"),
        (text.encode("latin-1"), "line 2: the line is not in UTF-8"),
        (b"%PDF-1.7\n\0\0", "NUL byte"),
        (too_many.encode(), "line 50002: the table has more than 50,000 rows"),
        (heading.encode() + b"\na,b\n", "line 2"),
    ]
    file = tmp_path / "table.csv"
    for data, said in cases:
        file.write_bytes(data)
        refuse("load", kind, str(file), said=(said,))
    refuse("load", kind, str(tmp_path / "none.csv"), said=("none.csv cannot be read",))
    refuse("load", kind, said=("Name the file",))


def test_varieties_that_cannot_be(refuse: Refuse, tmp_path: Path) -> None:
    file = tmp_path / "varieties.csv"
    for row, said in (
        ("pier moss,Zoanthus,,,", ("line 2, name", "already")),
        ("Sea Mist,Zoanthus,,,\nSEA MIST,Zoanthus,,,", ("line 3, name", "stands on line 2")),
        ("Sea Mist,Nosuchgenus,,,", ("line 2, genus", "Nosuchgenus")),
        ("Sea Mist,Zoanthus,,coral,", ("line 2, group", "coral")),
        (",Zoanthus,,,", ("line 2, name", "the cell is empty")),
    ):
        file.write_text(f"{VARIETIES}\n{row}\n", encoding="utf-8")
        refuse("load", "varieties", str(file), said=said)


def test_papers_that_cannot_be(refuse: Refuse, tmp_path: Path) -> None:
    out = tmp_path / "paper.txt"
    later = f"{today().year + 1}-01"
    for command, arguments, said in (
        ("month", ("2026-13",), "2026-13"),
        ("month", ("November",), "November"),
        ("month", (later,), f"{later} has not come yet"),
        ("month", ("2025-02", "--basis", "wish"), "wish"),
        ("month", ("2025-02", "--out", str(out)), "name a file that ends in .pdf"),
        ("month", ("2025-02", "--out", str(tmp_path / "none" / "a.csv")), "cannot be written"),
        ("sheet", ("--for", "Nobody Known"), "There is no customer 'Nobody Known'"),
        ("sheet", ("--out", str(out)), "is no PDF"),
        ("labels", ("--blank", "10000", "--out", str(out)), "10000 blank labels"),
        ("labels", ("7K3-Q9F-M", "--out", str(out)), "A character in 7K3-Q9F-M is wrong"),
        ("labels", ("7K3-Q9F-N", "--out", str(out)), "No such code"),
        ("labels", ("--out", str(out)), "No labels were asked for"),
    ):
        refuse(command, *arguments, said=(said,))
    assert list(tmp_path.iterdir()) == []
