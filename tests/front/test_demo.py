"""The demo as people run it: what it builds, that it repeats, and what it keeps away from."""

import json
import shutil
import socket
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from typing import Any

import pytest

from fraginv.base.environment import VARIABLES
from fraginv.base.home import signing_key
from fraginv.base.rules.codes import read_code
from fraginv.front.demo.folder import make_empty
from fraginv.front.management.commands.demo import environment_inside
from fraginv.front.serving.lock import take_home
from tests.base.papers import symbols_of, texts_of
from tests.front.running import PASSWORD, Line, Visitor, listing
from tests.serving import free_port

pytestmark = [pytest.mark.own_home, pytest.mark.xdist_group("demo")]

ROLES = {"owner", "manager", "grower", "seller", "reader"}

# What the same seed must give again: codes and figures, without row numbers or moments.
SAME = {
    "frags": """
        SELECT f.code_id, v.name, f.is_lot, f.medium, f.pieces, f.free, f.stage, f.apart,
            f.quarantined, f.kept_back, f.size, f.heads, f.cut_on, f.ready_on, f.ended_on,
            f.last_seq, c.code_id, r.name
        FROM stock_frag f JOIN stock_variety v ON v.id = f.variety_id
        LEFT JOIN stock_colony c ON c.id = f.colony_id LEFT JOIN stock_rack r ON r.id = f.rack_id
        ORDER BY 1""",
    "cuttings": """
        SELECT c.code_id, k.day, k.month, k.pieces, k.lost, k.medium, k.as_lot, p.username
        FROM stock_cutting k JOIN stock_colony c ON c.id = k.colony_id
        JOIN base_person p ON p.id = k.by_id ORDER BY 1, 2, 4, 7""",
    "events": """
        SELECT f.code_id, e.seq, e.kind, e.day, p.username FROM stock_fragevent e
        JOIN stock_frag f ON f.id = e.frag_id JOIN base_person p ON p.id = e.by_id
        ORDER BY 1, 2""",
    "claims": """
        SELECT f.code_id, c.pieces, c.kind, c.for_name, c.ended_how, c.back FROM stock_claim c
        JOIN stock_frag f ON f.id = c.frag_id ORDER BY 1, c.id""",
    "sales": """
        SELECT s.series, s.year, s.number, s.day, s.channel, s.gross, s.discounts, s.net, s.tax,
            s.total, s.exempt_by, n.name, l.position, l.quantity, l.unit_price, l.net, f.code_id
        FROM trade_sale s JOIN trade_saleline l ON l.sale_id = s.id
        LEFT JOIN stock_frag f ON f.id = l.frag_id
        LEFT JOIN trade_papername n ON n.id = s.paper_name_id ORDER BY 1, 2, 3, 13""",
    "payments": "SELECT series, year, number, day, means, amount, goods, tax FROM trade_payment"
    " ORDER BY 1, 2, 3",
    "credits": "SELECT series, year, number, day, reason, net, tax, refund FROM trade_credit"
    " ORDER BY 1, 2, 3",
    "bills": """
        SELECT b.series, b.year, b.number, b.day, b.serves, b.settled, p.name, k.name, l.amount,
            l.display, l.direct
        FROM costs_bill b JOIN costs_billline l ON l.bill_id = b.id
        JOIN costs_costkind k ON k.id = l.kind_id LEFT JOIN base_party p ON p.id = b.supplier_id
        ORDER BY 1, 2, 3, 8""",
    "prices": """
        SELECT k.name, v.name, p.size, p.unit, p.amount, p.first_day FROM trade_price p
        JOIN trade_customerkind k ON k.id = p.kind_id
        JOIN stock_variety v ON v.id = p.variety_id ORDER BY 1, 2, 3""",
    "pictures": "SELECT sha256, width, height FROM base_storedfile ORDER BY 1",
}


@dataclass(frozen=True)
class Demo:
    """A demo that was built: its home, and the document that it printed."""

    home: Path
    told: dict[str, Any]

    @property
    def line(self) -> Line:
        """Return the command line of the demo's own home."""
        return Line(self.home / "demo")

    def rows(self, query: str) -> list[tuple[Any, ...]]:
        """Ask the demo's database."""
        file = self.home / "demo" / "fraginv.sqlite3"
        with closing(sqlite3.connect(f"{file.as_uri()}?mode=ro", uri=True)) as database:
            return database.execute(query).fetchall()

    def one(self, query: str) -> Any:
        """Return the one value that a query gives."""
        ((value,),) = self.rows(query)
        return value


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Demo:
    """The demo, built once for this module."""
    home = tmp_path_factory.mktemp("first") / "home"
    live = {
        name: str(home.parent / "live") for name in ("FRAGINV_BACKUPS", "FRAGINV_BACKUPS_SECOND")
    }
    real = {
        "FRAGINV_MEDIA": "s3://reef-files?endpoint=http://127.0.0.1:9",
        "FRAGINV_MAIL": "smtp://127.0.0.1:9",
        "FRAGINV_ALARMS": "owner@reef.example",
        "FRAGINV_HTTPS": "1",
    }
    ran = Line(home, live | real)("demo", "--no-serve", "--json")
    assert ran.status == 0, ran.err
    assert not (home.parent / "live").exists()
    return Demo(home, ran.document)


@pytest.fixture(scope="module")
def served(demo: Demo, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Demo, int]]:
    """The demo run again over a folder that it made, and served on a port."""
    home = tmp_path_factory.mktemp("second") / "home"
    shutil.copytree(demo.home, home)
    (home / "demo" / "left-over.pdf").write_bytes(b"%PDF-old")
    (home / "demo" / "fraginv.sqlite3").write_bytes(b"an earlier run was cut short")
    port = free_port()
    with Line(home).serving("demo", "--json", port=port) as out:
        yield Demo(home, json.loads(out.read_text(encoding="utf-8"))), port


@pytest.mark.parametrize("paper", ["labels", "sheet", "month"])
def test_papers_lie_where_it_says(demo: Demo, paper: str) -> None:
    file = Path(demo.told[paper])
    assert file == demo.home / "demo" / f"{paper}.pdf"
    data = file.read_bytes()
    assert data.startswith(b"%PDF-")
    assert data.rstrip().endswith(b"%%EOF")
    assert all(text.strip() for text in texts_of(data))


def test_everything_lies_in_one_folder(demo: Demo) -> None:
    assert sorted(one.name for one in demo.home.iterdir()) == ["demo", "signing.key"]
    assert demo.told["home"] == str(demo.home / "demo")
    assert demo.told["url"] is None


def test_symbols_on_the_labels_are_the_codes_that_were_cut(demo: Demo) -> None:
    read = [
        read_code(one.text)
        for page in symbols_of(Path(demo.told["labels"]).read_bytes())
        for one in page
    ]
    printed = demo.rows(
        "SELECT code_id FROM labels_printedlabel"
        " WHERE run_id = (SELECT min(run_id) FROM labels_printedlabel)"
    )
    cut = demo.rows(
        "SELECT f.code_id FROM stock_frag f JOIN stock_cutting c ON c.id = f.cutting_id"
        " WHERE c.day = (SELECT max(day) FROM stock_cutting)"
    )
    assert len(read) == len(set(read)) == 13
    assert set(read) == {code for (code,) in printed} == {code for (code,) in cut}
    said = " ".join(demo.told["said"])
    assert sum(f"{code[:3]}-{code[3:6]}-{code[6:]}" in said for code in read) == 4


def test_it_is_as_large_as_it_should_be(demo: Demo) -> None:
    today = "(SELECT max(day) FROM stock_cutting)"
    frags = demo.one(f"SELECT count(*) FROM stock_frag WHERE NOT is_lot AND cut_on < {today}")
    lots = demo.one(f"SELECT count(*) FROM stock_frag WHERE is_lot AND cut_on < {today}")
    assert 130 <= frags <= 170
    assert lots == 6
    assert demo.one("SELECT count(*) FROM stock_colony") == 11
    assert demo.one('SELECT count(DISTINCT "group") FROM stock_variety') >= 4
    stages = {stage for (stage,) in demo.rows("SELECT DISTINCT stage FROM stock_frag")}
    assert stages == {"healing", "growing", "ready", "sold", "lost", "kept"}
    for mark in ("apart", "quarantined", "kept_back"):
        assert demo.one(f"SELECT count(*) FROM stock_frag WHERE {mark}") > 0
    months = demo.one("SELECT count(DISTINCT month) FROM trade_sale")
    assert months >= 11
    assert demo.one("SELECT count(DISTINCT month) FROM costs_bill") >= 14


def test_it_has_two_troughs_and_quarantine_in_other_water(demo: Demo) -> None:
    rows = demo.rows(
        "SELECT s.quarantine, count(*) FROM stock_trough t"
        " JOIN stock_system s ON s.id = t.system_id GROUP BY 1 ORDER BY 1"
    )
    assert rows == [(0, 2), (1, 1)]
    astray = "SELECT count(*) FROM stock_frag f JOIN stock_rack r ON r.id = f.rack_id"
    astray += " JOIN stock_trough t ON t.id = r.trough_id JOIN stock_system s"
    astray += " ON s.id = t.system_id WHERE f.quarantined != s.quarantine"
    assert demo.one(astray) == 0


def test_everything_agrees(demo: Demo) -> None:
    assert demo.told["differences"] == []
    assert demo.line.told("verify") == {"differences": []}


def test_frags_become_ready_when_it_is_forecast(demo: Demo) -> None:
    """Four of five inside the interval of 80 %: the aim, held on the demo's growers."""
    found = demo.line.told("forecast", "--check")
    assert found["frags"] >= 80
    assert 0.75 <= found["inside"] <= 0.85
    coming = demo.line.told("forecast")["varieties"]
    assert sum(one["not_ready"] for one in coming) >= 20
    often = (
        "SELECT count(*) FROM (SELECT frag_id FROM growth_measurement WHERE replaced_at IS NULL"
        " GROUP BY 1 HAVING count(*) BETWEEN 3 AND 5)"
    )
    assert demo.one(often) >= 2


def share_of(part: int, whole: int) -> str | None:
    """Divide with four decimals, half up, as the month says it; early in one there is no bill."""
    if not whole:
        return None
    return str((Decimal(part) / whole).quantize(Decimal("0.0001"), ROUND_HALF_UP))


def test_the_month_is_what_its_papers_add_up_to(demo: Demo) -> None:
    (year, month) = demo.rows("SELECT year, month FROM trade_sale ORDER BY id DESC LIMIT 1")[0]
    told = demo.line.told("month", f"{year}-{month % 100:02d}")
    where = f"WHERE month = {month}"
    net, tax = demo.rows(f"SELECT sum(net), sum(tax) FROM trade_sale {where}")[0]
    back, tax_back = demo.rows(
        f"SELECT coalesce(sum(net), 0), coalesce(sum(tax), 0) FROM trade_credit {where}"
    )[0]
    running = demo.one(
        "SELECT coalesce(sum(l.display), 0) FROM costs_billline l"
        f" JOIN costs_bill b ON b.id = l.bill_id {where}"
    )
    income = told["income"]
    assert income["net"] == net - back == sum(income["by_channel"].values())
    assert income["net"] == sum(income["by_group"].values())
    assert told["tax_collected"] == tax - tax_back
    assert told["running_costs"]["total"] == running
    assert told["share_carried"] == share_of(income["net"], running)
    direct = told["direct_costs"]["total"]
    assert told["result"] == income["net"] - running - direct
    text = " ".join(texts_of(Path(demo.told["month"]).read_bytes())).replace(",", "")
    assert f"{income['net'] / 100:.2f}" in text
    assert f"{running / 100:.2f}" in text


def test_the_sheet_is_what_stands_ready(demo: Demo) -> None:
    name = "Fennimore Street Fish Room"
    told = demo.line.told("sheet", "--for", name)
    free = demo.rows(
        "SELECT v.name, sum(f.free) FROM stock_frag f JOIN stock_variety v ON v.id = f.variety_id"
        " WHERE f.stage = 'ready' AND f.free > 0"
        " AND NOT (f.apart OR f.quarantined OR f.kept_back) GROUP BY 1"
    )
    listed: dict[str, int] = {}
    for line in told["lines"]:
        listed[line["variety"]] = listed.get(line["variety"], 0) + line["pieces"]
    assert listed == dict(free)
    assert told["missing_prices"] == []
    text = " ".join(" ".join(texts_of(Path(demo.told["sheet"]).read_bytes())).split())
    assert name in text
    for line in told["lines"]:
        assert line["variety"] in text
        assert f"{line['price'] / 100:.2f}" in text


def test_the_same_seed_gives_the_same_codes_and_figures(
    demo: Demo, served: tuple[Demo, int]
) -> None:
    again, _ = served
    for name, query in SAME.items():
        first = demo.rows(query)
        assert first
        assert first == again.rows(query), name


def test_a_second_run_takes_the_place_of_the_first(served: tuple[Demo, int]) -> None:
    again, port = served
    assert not (again.home / "demo" / "left-over.pdf").exists()
    assert again.told["url"] == f"http://127.0.0.1:{port}/"
    assert again.told["differences"] == []


def test_one_tap_signs_in_in_each_role(served: tuple[Demo, int]) -> None:
    again, port = served
    people = again.told["people"]
    assert {person["role"] for person in people} == ROLES
    for person in people:
        visitor = Visitor(port)
        status, page = visitor.get("/sign-in")
        assert (status, person["name"] in page) == (200, True)
        assert visitor.post("/sign-in", demo=person["username"]) == (303, "/")
        status, page = visitor.get("/")
        assert (status, person["name"] in page) == (200, True)


def test_a_stranger_gets_no_further_than_the_sign_in(served: tuple[Demo, int]) -> None:
    visitor = Visitor(served[1])
    assert visitor.ask("GET", "/")[:2] == (302, "/sign-in?next=%2F")
    assert visitor.get("/sign-in")[0] == 200
    assert visitor.post("/sign-in", demo="nobody")[0] == 400
    assert visitor.ask("GET", "/")[0] == 302


def test_a_style_sheet_is_served_too(served: tuple[Demo, int]) -> None:
    _, page = Visitor(served[1]).get("/sign-in")
    address = page.split('rel="stylesheet"')[1].split('href="')[1].split('"')[0]
    status, text = Visitor(served[1]).get(address)
    assert status == 200
    assert "@layer" in text


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A home that has been used before, so that it has its key."""
    signing_key(tmp_path / "home")
    return tmp_path / "home"


def refuse(line: Line, *said: str, options: tuple[str, ...] = ("--no-serve",)) -> None:
    """Run the demo, and see that it says why it will not and leaves everything as it was."""
    before = listing(line.home)
    ran = line("demo", "--json", *options)
    assert (ran.status, ran.out) == (1, "")
    for words in said:
        assert words in ran.err
    assert "Traceback" not in ran.err
    assert listing(line.home) == before


def test_another_database_is_out_of_its_reach(home: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.sqlite3"
    refuse(Line(home, {"DATABASE_URL": f"sqlite:///{other}"}), "DATABASE_URL is set", "Unset it")
    assert not other.exists()


def test_nothing_real_is_reached_through_the_environment(tmp_path: Path) -> None:
    given = {variable.name: "something real" for variable in VARIABLES}
    given |= {"AWS_PROFILE": "live", "AWS_SESSION_TOKEN": "live", "PATH": "/usr/bin", "TZ": "UTC"}
    kept = environment_inside(tmp_path / "demo", given=given)
    assert kept == {
        "FRAGINV_HOME": str(tmp_path / "demo"),
        "PATH": "/usr/bin",
        "TZ": "UTC",
        # None of these leads anywhere.
        **dict.fromkeys(
            [
                *("FRAGINV_HOST", "FRAGINV_PROCESSES", "FRAGINV_THREADS"),
                *("FRAGINV_LOG", "FRAGINV_DEBUG"),
            ],
            "something real",
        ),
    }


def test_a_demo_that_is_served_is_not_made_anew(home: Path) -> None:
    make_empty(home / "demo")
    lock = take_home(home / "demo")
    lock.note(url="http://127.0.0.1:8000/")
    refuse(Line(home), "serves", "already, on http://127.0.0.1:8000/")
    lock.let_go()


def test_live_data_is_out_of_its_reach(home: Path) -> None:
    line = Line(home, {"FRAGINV_PASSWORD": PASSWORD})
    begun = line(
        *("start", "--no-serve", "--organisation", "Tidewater Hall", "--currency", "USD"),
        *("--zone", "America/New_York", "--owner", "Mira Holt"),
    )
    assert begun.status == 0, begun.err
    refuse(line, str(home), "live data", "another folder")


def test_a_file_that_may_be_live_data_is_left_alone(home: Path) -> None:
    (home / "fraginv.sqlite3").write_bytes(b"no database that this can read")
    refuse(Line(home), "live data")


def test_a_folder_that_it_did_not_make_is_left_alone(home: Path) -> None:
    (home / "demo").mkdir()
    (home / "demo" / "holiday.jpg").write_bytes(b"not ours")
    refuse(Line(home), str(home / "demo"), "was not made by the demo", "Move it away")


def test_it_does_not_build_inside_a_folder_without_its_mark(home: Path) -> None:
    inner = home / "demo"
    signing_key(inner)
    refuse(Line(inner), "was not made by the demo", options=("--no-serve", "--inside"))


def test_a_port_that_is_taken_is_refused_before_anything_is_built(home: Path) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        refuse(Line(home), f"Port {port} cannot be used", options=("--port", str(port)))


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--port", "0"), "0 is no port"),
        (("--port", "70000"), "70000 is no port"),
        (("--port", "eighty"), "eighty"),
        (("--seed", "x", "--no-serve"), "x"),
    ],
)
def test_options_that_cannot_be_read_are_named(
    home: Path, options: tuple[str, ...], said: str
) -> None:
    refuse(Line(home), said, options=options)
