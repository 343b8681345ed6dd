"""Narrowed lists as pages: addresses, chips, refusals in words, files."""

import csv
import io
import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client
from openpyxl import load_workbook
from pytest_django import DjangoAssertNumQueries

from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.stock.models import Frag, System
from tests.conftest import People
from tests.factories import make_colony, make_frags, make_rack, make_variety
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]
PAGES = ("/frags", "/frags/narrow", "/frags.csv", "/frags.xlsx")


@pytest.fixture
def frags(grower: Person) -> list[Frag]:
    """Three ready ones in a rack, and two that heal, of another variety."""
    moss = make_colony(grower, variety=make_variety(grower, name="Pier Moss", genus="Zoanthus"))
    day = today() - timedelta(days=60)
    ready = make_frags(grower, 3, colony=moss, ready=True, day=day, rack=make_rack(grower))
    return [*ready, *make_frags(grower, 2)]


def chips_on(client: Client, query: str) -> list[tuple[str, str]]:
    """Return words and address of each chip."""
    page = client.get(f"/frags?{query}").content.decode()
    found = re.findall(r'class="chip" href="([^"]+)"><span[^>]*>[^<]*</span>([^<]+)<', page)
    return [(words, href.replace("&amp;", "&")) for href, words in found]


def codes_on(client: Client, path: str) -> set[str]:
    return set(re.findall(r'list__link" href="/T/(\w+)"', client.get(path).content.decode()))


def test_each_filter_is_a_chip_that_can_be_taken_off(
    client_for: ClientFor, frags: list[Frag]
) -> None:
    client, rack = client_for(Role.GROWER), frags[0].rack
    assert rack is not None
    query = f"stage=ready&size=M&group=zoanthid&trough={rack.trough_id}&age_from=30&age_to=90"
    query += f"&held=no&apart=no&wrong=no&rack={rack.code_id}&q=moss&after="
    chips = dict(chips_on(client, query))
    assert list(chips) == [
        *("“moss”", "in trough A", f"in {rack}", "Zoanthid", "size M"),
        *("put aside for nobody", "not set apart", "nothing wrong", "cut 30 to 90 days ago"),
    ]
    assert "age_" not in chips["cut 30 to 90 days ago"]
    assert "size=" not in chips["size M"]
    assert "stage=ready" in chips["size M"]
    for path in chips.values():
        assert codes_on(client, path) == {frag.code_id for frag in frags[:3]}
    assert codes_on(client, "/frags?held=yes") == set()


def test_a_thing_that_a_list_names_is_named_on_it(client_for: ClientFor, frags: list[Frag]) -> None:
    client, frag = client_for(Role.READER), frags[0]
    assert frag.colony is not None
    assert [words for words, _ in chips_on(client, f"variety={frag.variety_id}")] == ["Pier Moss"]
    genus = frag.variety.genus_id
    assert [words for words, _ in chips_on(client, f"genus={genus}")] == ["Zoanthus"]
    ((words, _),) = chips_on(client, f"colony={frag.colony.code_id.lower()}")
    assert words.startswith("of colony ")
    for name in ("variety", "genus", "system", "trough"):
        assert client.get(f"/frags?{name}=9999").status_code == 404
    assert client.get("/frags?rack=7K3Q9FN").status_code == 404


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("stage=nonsense", "Stage: there is no “nonsense”. Take one of sale, healing"),
        ("size=XXL", "Size: there is no “XXL”. Take one of S, M, L, mini, or none."),
        ("group=fish", "Group: there is no “fish”."),
        ("held=perhaps", "Put aside: there is no “perhaps”. Take one of yes, no, or none."),
        ("wrong=blue", "Problem: there is no “blue”."),
        ("age_from=-1", "Write the age in whole days, from 0 to 36500."),
        ("age_to=old", "Write the age in whole days"),
        ("age_from=9&age_to=3", "No age is at least 9 and at most 3 days."),
        ("trough=x", "Trough: that is no number of one."),
        (f"variety={10**30}", "Variety: that is no number of one."),
        ("rack=7K3Q9FX", "Rack: A character in 7K3-Q9F-X is wrong"),
        (f"q={'x' * 81}", "Name or code: at most 80 characters."),
    ],
)
def test_what_cannot_be_is_answered_in_words(
    client_for: ClientFor, people: People, query: str, said: str
) -> None:
    client = client_for(Role.GROWER)
    for path in ("/frags", "/frags.csv", "/frags/narrow"):
        answer = client.get(f"{path}?{query}")
        assert answer.status_code == 400
        assert said in words_on(answer)


def test_narrowing_leads_to_a_short_address(client_for: ClientFor, frags: list[Frag]) -> None:
    client, rack = client_for(Role.GROWER), frags[0].rack
    assert rack is not None
    page = words_on(client.get("/frags/narrow?size=M"))
    assert "Trough" in page
    asked = f"q=&size=M&stage=ready&trough={rack.trough_id}&show=1"
    answer = client.get(f"/frags/narrow?{asked}")
    assert (answer.status_code, answer["Location"]) == (
        302,
        f"/frags?size=M&stage=ready&trough={rack.trough_id}",
    )
    assert client.get("/frags/narrow?show=1&size=XXL").status_code == 400


def test_the_rack_is_chosen_from_a_list(
    client_for: ClientFor, frags: list[Frag], monkeypatch: pytest.MonkeyPatch
) -> None:
    client, rack = client_for(Role.GROWER), frags[0].rack
    assert rack is not None
    page = client.get(f"/frags/narrow?rack={rack.code_id}").content.decode()
    assert f'<option value="{rack.code_id}" selected>Display: {rack}</option>' in page
    assert "The code on its edge." not in page
    wrong = words_on(client.get("/frags/narrow?rack=7K3Q9FX"))
    assert wrong.count("Rack: A character") == 1
    assert "Rack: Rack" not in wrong
    typed = show_code(rack.code_id)
    page = client.get(f"/frags/narrow?rack={typed}").content.decode()
    assert f'name="rack" value="{typed}"' in page
    monkeypatch.setattr("fraginv.front.views.narrowed.MOST_PLACES", 0)
    assert "The code on its edge." in words_on(client.get("/frags/narrow"))


def test_files_hold_what_the_list_shows(client_for: ClientFor, frags: list[Frag]) -> None:
    client = client_for(Role.READER)
    wanted = {frag.code_id for frag in frags[:3]}
    answer = client.get("/frags.csv?stage=ready&size=M&after=1")
    assert answer["Content-Type"].startswith("text/csv")
    text = answer.getvalue().decode()
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert {row["code"].replace("-", "") for row in rows} == wanted
    assert {(row["variety"], row["rack"]) for row in rows} == {("Pier Moss", "rack 1")}
    data = client.get("/frags.xlsx?stage=ready&size=M").getvalue()
    sheet = load_workbook(io.BytesIO(data)).worksheets[0]
    assert {str(row[0].value).replace("-", "") for row in sheet.iter_rows(min_row=2)} == wanted
    assert sheet["A1"].value == "code"


def test_a_table_that_is_too_long_is_refused_in_words(
    client_for: ClientFor, frags: list[Frag], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("fraginv.front.queries.frag_table.MOST_ROWS", 2)
    answer = client_for(Role.READER).get("/frags.xlsx?size=M")
    assert answer.status_code == 400
    assert "Narrow the list" in words_on(answer)


def test_a_list_that_was_looked_at_in_part_says_so(
    client_for: ClientFor, frags: list[Frag], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("fraginv.base.queries.looking.BOUND", 2)
    monkeypatch.setattr("fraginv.front.queries.frag_lists.BOUND", 2)
    client, path = client_for(Role.GROWER), "/frags?wrong=no&group=zoanthid"
    seen: set[str] = set()
    page = ""
    for _ in range(5):
        page = client.get(path).content.decode()
        seen |= codes_on(client, path)
        found = re.search(r'href="(\?[^"]+)">Look further', page)
        if found is None:
            break
        path = f"/frags{found[1].replace('&amp;', '&')}"
    assert seen == {frag.code_id for frag in frags[:3]}
    assert "Look further" not in page


def test_pages_of_lists_ask_as_much_for_many_as_for_one(
    client_for: ClientFor, people: People, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    grower, client = people[Role.GROWER], client_for(Role.OWNER)
    for count in (1, 10):
        for _ in range(count):
            make_frags(grower, 2, rack=make_rack(grower), day=today() - timedelta(days=30))
        for path, most in (
            (f"/frags?size=M&apart=no&system={System.objects.get().pk}", 8),
            # Two are for when they will be ready.
            ("/frags?q=harbour&stage=healing", 8),
            ("/frags/narrow", 5),
            ("/frags.csv?group=SPS", 6),
        ):
            with django_assert_max_num_queries(most):
                assert client.get(path).status_code == 200


@pytest.mark.parametrize("path", PAGES)
def test_who_may_see_lists(client_for: ClientFor, people: People, path: str) -> None:
    for role in Role:
        assert client_for(role).get(path).status_code == 200
    answer = client_for(None).get(path)
    assert (answer.status_code, answer["Location"][:9]) == (302, "/sign-in?")
    assert client_for(Role.OWNER).post(path).status_code == 403
