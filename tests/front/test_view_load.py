"""Bringing in tables by their pages: who may, what is seen, and what comes of it."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.models import Person, TableLoad, Upload, UploadProblem
from fraginv.base.queries.files import storage_for
from fraginv.base.queries.uploads import upload_name
from fraginv.base.rules.roles import Right, Role, can
from fraginv.base.rules.uploads import MOST_PROBLEMS
from fraginv.base.tables import write_xlsx
from fraginv.front.nightly import clear
from fraginv.stock.models import Variety
from tests.conftest import People
from tests.factories import make_variety

ClientFor = Callable[[Role | None], Client]
GOOD = b"name,genus,note\nHarbour Lantern,Acropora,shy\nPier Moss,Zoanthus,\n"
BAD = b"name,genus\nGood,Acropora\nBad,Acropra\n"
LIST = reverse("front:load")
FORM = reverse("front:load_kind", args=["varieties"])


def send(
    client: Client, data: bytes = GOOD, *, kind: str = "varieties", name: str = "", **more: str
) -> Any:
    """Send a table as the page does."""
    file = SimpleUploadedFile(name or f"{kind}.csv", data)
    fields = {"file": file, "days": "year first", "replay_key": str(uuid4())} | more
    return client.post(reverse("front:load_kind", args=[kind]), fields)


def bring(client: Client, path: str, **more: str) -> Any:
    """Press the button that brings a table in."""
    return client.post(path, {"replay_key": str(uuid4())} | more)


def sent(client: Client, data: bytes = GOOD, **more: str) -> str:
    """Send a table and return the path of its page."""
    answer = send(client, data, **more)
    assert answer.status_code == 303
    return str(answer["Location"])


def text_of(client: Client, path: str) -> str:
    answer = client.get(path)
    assert answer.status_code == 200
    return str(answer.content.decode())


def stored(upload: Upload) -> bool:
    return storage_for(private=True).exists(upload_name(upload))


@pytest.fixture
def manager_client(client_for: ClientFor) -> Client:
    return client_for(Role.MANAGER)


def test_from_the_template_to_the_stock(manager_client: Client) -> None:
    path = sent(manager_client)
    page = text_of(manager_client, path)
    for words in ("Rows in order", "Harbour Lantern", "shy", "Bring in 2 rows"):
        assert words in page
    assert not Variety.objects.exists()
    upload = Upload.objects.get()
    assert stored(upload)
    answer = bring(manager_client, path)
    assert answer.status_code == 303
    done = text_of(manager_client, answer["Location"])
    assert "2 rows of varieties brought in" in done
    assert Variety.objects.count() == 2
    load = TableLoad.objects.get()
    assert (load.kind, load.name, load.rows, load.by.role) == (
        "varieties",
        "varieties.csv",
        2,
        Role.MANAGER,
    )
    assert not Upload.objects.exists()
    assert manager_client.get(path).status_code == 404


@pytest.mark.parametrize("role", list(Role))
def test_who_may_bring_in_tables(client_for: ClientFor, role: Role) -> None:
    client = client_for(role)
    may = can(role, Right.LOAD_TABLES)
    assert may == (role in {Role.MANAGER, Role.OWNER})
    for path in (LIST, FORM, reverse("front:load_blank", args=["prices", "csv"])):
        assert client.get(path).status_code == (200 if may else 403)
    assert send(client).status_code == (303 if may else 403)
    assert Upload.objects.exists() == may


def test_nobody_from_outside(client_for: ClientFor) -> None:
    for path in (LIST, FORM, reverse("front:load_waiting", args=[1])):
        assert "sign-in" in client_for(None).get(path)["Location"]
    assert "sign-in" in send(client_for(None))["Location"]


def test_what_one_sends_nobody_else_sees(client_for: ClientFor, manager_client: Client) -> None:
    path, owner = sent(manager_client), client_for(Role.OWNER)
    assert owner.get(path).status_code == 404
    assert bring(owner, path).status_code == 404
    away = reverse("front:load_throw", args=[Upload.objects.get().pk])
    assert bring(owner, away).status_code == 404
    assert "Waiting for you" not in text_of(owner, LIST)
    assert "Waiting for you" in text_of(manager_client, LIST)


@pytest.mark.parametrize(
    "path",
    [
        reverse("front:load_waiting", args=[99]),
        reverse("front:load_done", args=[99]),
        reverse("front:load_codes", args=[99]),
        reverse("front:load_kind", args=["corals"]),
        reverse("front:load_blank", args=["corals", "csv"]),
        "/load/varieties/template.pdf",
        "/load/waiting/x",
    ],
)
def test_what_there_is_not(manager_client: Client, path: str) -> None:
    assert manager_client.get(path).status_code == 404


def test_a_file_is_asked_for(manager_client: Client) -> None:
    answer = manager_client.post(FORM, {"days": "year first", "replay_key": str(uuid4())})
    assert answer.status_code == 400
    assert "This field is required" in answer.content.decode()
    answer = send(manager_client, days="some day")
    assert answer.status_code == 400
    assert not Upload.objects.exists()


def test_what_is_wrong_is_named_by_line_and_column(manager_client: Client) -> None:
    page = text_of(manager_client, sent(manager_client, BAD))
    for words in ("1 thing to mend", "Line 3, genus", "Acropra", "Send the mended table"):
        assert words in page
    assert "Bring in 2 rows" not in page
    # What could be read is shown beside what is wrong with it.
    assert "as they were understood" in page
    answer = bring(manager_client, reverse("front:load_waiting", args=[Upload.objects.get().pk]))
    assert answer.status_code == 400
    assert not Variety.objects.exists()


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "the table is empty"),
        (b"name,genus\n", "the table has no rows under its headings"),
        ("name,genus\nA,Acropora\n".encode("utf-16"), "the file is in UTF-16"),
        ("name,genus\nR\xe9cif,Acropora\n".encode("latin-1"), "looks like Latin-1"),
        (b"name;genus\nA;Acropora\n", "separated by semicolons"),
        (b"name,breed\nA,Acropora\n", "not a column of this table"),
        (b"name,genus,name\nA,Acropora,B\n", "the heading is there twice"),
        (b"PK\x03\x04 cut off", "no workbook that can be read"),
        (b'name,genus\n"A,Acropora\n', "a quote is missing or one too many"),
    ],
)
def test_a_file_that_is_no_table_is_kept_and_said(
    manager_client: Client, data: bytes, said: str
) -> None:
    assert said in text_of(manager_client, sent(manager_client, data))
    assert Upload.objects.get().problems


def test_problems_come_in_pages_and_no_more_are_kept_than_are_read(
    manager_client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("fraginv.base.actions.uploads.MOST_PROBLEMS", 120)
    monkeypatch.setattr("fraginv.front.views.load.MOST_PROBLEMS", 120)
    assert MOST_PROBLEMS == 5_000
    rows = b"".join(b"Coral %d,Acropra\n" % number for number in range(150))
    path = sent(manager_client, b"name,genus\n" + rows)
    upload = Upload.objects.get()
    assert (upload.problems, UploadProblem.objects.count()) == (150, 120)
    page, seen = text_of(manager_client, path), 0
    while True:
        seen += page.count("is not in the table of genera")
        if 'rel="next"' not in page:
            break
        step = page.partition('rel="next" href="')[2].partition('"')[0]
        page = text_of(manager_client, path + step)
    assert seen == 120
    assert "Only the first 120 are listed." in page


def test_the_same_rows_are_refused_until_it_is_meant(manager_client: Client) -> None:
    bill = b"day,kind,amount\n2026-01-05,Power,420.00\n"
    bring(manager_client, sent(manager_client, bill, kind="costs"))
    # The same rows in another file, with a column more in which nothing stands.
    book = write_xlsx(["amount", "day", "kind", "note"], [["420.00", "2026-01-05", "Power", ""]])
    path = sent(manager_client, book, kind="costs", name="copy.xlsx")
    page = text_of(manager_client, path)
    assert "These very rows are here already." in page
    assert "costs.csv" in page
    answer = bring(manager_client, path)
    assert answer.status_code == 400
    assert "These very rows were brought in on" in answer.content.decode()
    assert TableLoad.objects.count() == 1
    assert bring(manager_client, path, knowingly="on").status_code == 303
    assert list(TableLoad.objects.order_by("pk").values_list("again", flat=True)) == [0, 1]


def test_what_comes_between_looking_and_bringing_in_is_said(
    manager_client: Client, manager: Person
) -> None:
    path = sent(manager_client)
    make_variety(manager, name="PIER MOSS")
    answer = bring(manager_client, path)
    text = answer.content.decode()
    assert answer.status_code == 400
    for words in ("does not fit any more", "Line 3, name", "there is a variety Pier Moss already"):
        assert words in text
    assert Variety.objects.count() == 1
    assert "Line 3, name" in text_of(manager_client, path)


def test_a_form_sent_twice_brings_in_once(manager_client: Client) -> None:
    path, key = sent(manager_client), {"replay_key": str(uuid4())}
    answers = [manager_client.post(path, key) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [303, 303]
    assert answers[0]["Location"] == answers[1]["Location"]
    assert TableLoad.objects.count() == 1


def test_the_same_file_sent_again_waits_once(manager_client: Client) -> None:
    sent(manager_client)
    sent(manager_client)
    assert Upload.objects.count() == 1
    assert stored(Upload.objects.get())


@pytest.mark.django_db(transaction=True)
def test_a_table_is_thrown_away_with_its_bytes(
    manager_client: Client, client_for: ClientFor
) -> None:
    sent(manager_client)
    upload = Upload.objects.get()
    other = client_for(Role.OWNER)
    sent(other)
    bring(manager_client, reverse("front:load_throw", args=[upload.pk]))
    # Somebody else sent the same bytes, and theirs stay.
    theirs = Upload.objects.get()
    assert (stored(upload), stored(theirs)) == (False, True)
    answer = bring(other, reverse("front:load_throw", args=[theirs.pk]))
    assert answer["Location"] == LIST
    assert "varieties.csv is thrown away." in text_of(other, LIST)
    assert not stored(theirs)
    assert not Upload.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_after_a_day_it_is_gone(manager_client: Client) -> None:
    with clock.at(clock.now() - timedelta(hours=24, minutes=1)):
        path = sent(manager_client, BAD)
    kept = Upload.objects.get()
    assert manager_client.get(path).status_code == 404
    assert "Waiting for you" not in text_of(manager_client, LIST)
    with clock.at(clock.now() - timedelta(hours=23)):
        sent(manager_client)
    clear.call()
    assert not stored(kept)
    assert [upload.sha256 for upload in Upload.objects.all()] != [kept.sha256]
    assert Upload.objects.count() == 1
    assert not UploadProblem.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_what_is_sent_again_leaves_no_bytes_behind(manager_client: Client) -> None:
    sent(manager_client)
    first = Upload.objects.get()
    sent(manager_client)
    second = Upload.objects.get()
    assert (stored(first), stored(second)) == (False, True)


@pytest.mark.django_db(transaction=True)
def test_bytes_stay_that_somebody_else_sent_in_a_write_that_failed(
    manager_client: Client, manager: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    sent(manager_client)
    (kept,) = Upload.objects.all()
    before = storage_for(private=True).listdir("uploads")
    monkeypatch.setattr("fraginv.base.actions.uploads.write_problems", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        sent(manager_client, kind="customers")
    assert (list(Upload.objects.all()), stored(kept)) == ([kept], True)
    assert storage_for(private=True).listdir("uploads") == before


def test_bytes_that_are_gone_are_asked_for_again(manager_client: Client) -> None:
    path = sent(manager_client)
    storage_for(private=True).delete(upload_name(Upload.objects.get()))
    answer = bring(manager_client, path)
    assert answer.status_code == 404
    assert "Send it again." in answer.content.decode()
    assert not Variety.objects.exists()


def test_days_may_be_written_the_other_way(manager_client: Client) -> None:
    table = b"day,kind,amount\n5/1/2026,Power,420.00\n"
    wrong = text_of(manager_client, sent(manager_client, table, kind="costs"))
    assert "It may be" in wrong
    assert "2026-01-05" in wrong
    right = sent(manager_client, table, kind="costs", days="day first")
    assert "2026-01-05" in text_of(manager_client, right)
    assert bring(manager_client, right).status_code == 303


@pytest.mark.parametrize("many", [1, 12])
def test_statements_do_not_grow(
    manager_client: Client, many: int, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(many):
        bring(manager_client, sent(manager_client, b"name,genus\nReef %d,Acropora\n" % number))
        sent(manager_client, b"name,genus\nBay %d,Acropra\n" % number)
    path = sent(manager_client, b"name,genus\n" + b"Bay,Acropra\n" * many)
    done = reverse("front:load_done", args=[TableLoad.objects.latest("pk").pk])
    # The session, the person and the organisation are three of each.
    for page, most in ((LIST, 5), (FORM, 4), (path, 6), (done, 4)):
        with django_assert_max_num_queries(most):
            assert manager_client.get(page).status_code == 200


def test_the_way_there_is_in_the_navigation(client_for: ClientFor, people: People) -> None:
    assert LIST in text_of(client_for(Role.MANAGER), reverse("front:today"))
    assert f'href="{LIST}"' not in text_of(client_for(Role.GROWER), reverse("front:today"))


def test_the_same_rows_are_said_to_be_here_beside_what_is_wrong(manager_client: Client) -> None:
    bring(manager_client, sent(manager_client))
    page = text_of(manager_client, sent(manager_client))
    for words in ("These very rows are here already.", "2 things to mend", "Line 2, name"):
        assert words in page
