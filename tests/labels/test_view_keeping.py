"""The pages of lost labels, of blank labels on hand, and of what was printed."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from fraginv.base.models import Code
from fraginv.base.rules.codes import read_code, show_code
from fraginv.base.rules.roles import Role
from fraginv.labels.actions.lost import mark_label_lost
from fraginv.labels.actions.printing import start_run
from fraginv.labels.models import LostLabel, PrintRun, RetiredRoll
from fraginv.labels.queries.lost import lost_codes
from fraginv.labels.queries.runs import run_codes
from tests.base.papers import symbols_of
from tests.conftest import People
from tests.factories import make_frags
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]


def sent(**fields: Any) -> dict[str, Any]:
    """Return a form as a browser sends it."""
    return {"replay_key": str(uuid4())} | fields


def test_lost_labels_are_noted_and_printed_all_at_once(
    client_for: ClientFor, people: People
) -> None:
    codes = [frag.code_id for frag in make_frags(people[Role.GROWER], 3)]
    client = client_for(Role.GROWER)
    typed = "\n".join(show_code(code).lower() for code in codes[:2])

    answer = client.post("/labels/lost", sent(codes=typed, back=""), follow=True)
    assert "2 labels are on the list of lost labels" in words_on(answer)
    assert "Print all 2" in words_on(answer)

    page = client.get("/labels/?lost=all")
    filled = page.context["form"].initial["codes"]
    assert filled.split("\n") == [show_code(code) for code in codes[:2]]
    made = client.post("/labels/", sent(codes=filled, stock="letter-66.7x25.4", skip="0"))
    pdf = client.get(f"{made['Location']}.pdf")
    assert {read_code(one.text) for one in symbols_of(pdf.content)[0]} == set(codes[:2])
    assert "No label is lost" in words_on(client.get("/labels/lost"))


def test_a_label_that_was_found_is_taken_off(client_for: ClientFor, people: People) -> None:
    one, two = (frag.code_id for frag in make_frags(people[Role.GROWER], 2))
    mark_label_lost([one, two], by=people[Role.GROWER])
    answer = client_for(Role.SELLER).post("/labels/lost/found", sent(codes=one), follow=True)
    assert "Taken off the list" in words_on(answer)
    assert lost_codes(most=9) == [two]


def test_noting_leads_back_to_the_page_where_it_was_asked(
    client_for: ClientFor, people: People
) -> None:
    (frag,) = make_frags(people[Role.GROWER], 1)
    path = f"/T/{frag.code_id}"
    client = client_for(Role.GROWER)
    answer = client.post("/labels/lost", sent(codes=frag.code_id, back=path))
    assert (answer.status_code, answer["Location"]) == (303, path)
    away = client.post("/labels/lost", sent(codes=frag.code_id, back="//elsewhere.test/"))
    assert away["Location"] == "/labels/lost"
    button = client.post("/labels/lost", sent(codes=frag.code_id))
    assert button["Location"] == path
    assert "Noted as lost already" in words_on(client.get("/labels/lost"))


def test_noted_twice_by_a_double_tap_it_stands_there_once(
    client_for: ClientFor, people: People
) -> None:
    (frag,) = make_frags(people[Role.GROWER], 1)
    form = sent(codes=frag.code_id)
    client = client_for(Role.GROWER)
    assert client.post("/labels/lost", form).status_code == 303
    assert client.post("/labels/lost", form).status_code == 303
    assert LostLabel.objects.count() == 1


@pytest.mark.parametrize(
    ("codes", "message"),
    [
        ("", "This field is required"),
        (",;", "No labels were asked for"),
        ("7K3-Q9F-M", "A character in 7K3-Q9F-M is wrong"),
        ("7K3-Q9F-N", "No such code was made here"),
    ],
)
def test_codes_that_cannot_be_are_said_and_kept(
    client_for: ClientFor, people: People, codes: str, message: str
) -> None:
    for path in ("/labels/lost", "/labels/lost/found"):
        answer = client_for(Role.GROWER).post(path, sent(codes=codes))
        assert answer.status_code == 400
        assert message in words_on(answer)
        assert codes in answer.content.decode()
    assert not LostLabel.objects.exists()


def test_the_list_of_rolls_shows_the_next_free_one(client_for: ClientFor, people: People) -> None:
    grower = people[Role.GROWER]
    codes = [code.pk for code in run_codes(start_run((), blank=5, by=grower))]
    Code.objects.filter(pk__in=codes[:2]).update(kind=Code.Kind.FRAG)
    answer = client_for(Role.GROWER).get("/labels/rolls")
    words = words_on(answer)
    assert "3 left" in words
    assert f"Next free: {show_code(codes[2])} (no. 3), 3 in a row" in words
    assert f'href="/T/{codes[2]}"' in answer.content.decode()


def test_the_rest_of_a_roll_is_thrown_away(client_for: ClientFor, people: People) -> None:
    (code,) = run_codes(start_run((), blank=1, by=people[Role.GROWER]))
    client = client_for(Role.GROWER)
    path = f"/labels/rolls/{code.run}"
    assert "1 blank label left" in words_on(client.get(path))
    answer = client.post(path, sent(), follow=True)
    assert f"What was left of roll {code.run} is thrown away" in words_on(answer)
    assert RetiredRoll.objects.get().thrown_away == 1
    gone = client.get(path)
    assert gone.status_code == 404
    assert "was thrown away" in words_on(gone)


def test_a_run_tells_what_it_was(client_for: ClientFor, people: People) -> None:
    grower = people[Role.GROWER]
    codes = [frag.code_id for frag in make_frags(grower, 3)]
    run = start_run(codes, blank=1, skip=28, stock="letter-66.7x25.4", form="stem", by=grower)
    words = words_on(client_for(Role.GROWER).get(reverse("labels:run_page", args=[run.pk])))
    for told in (
        f"{show_code(codes[0])} to",
        "Stem tag",
        "the last 1, when they were printed",
        "2, 28 labels of the first were gone",
        "16.93 mm wide, leads to REEF.TEST",
        grower.name,
    ):
        assert told in words


@pytest.mark.parametrize("by_code", [False, True])
def test_a_run_is_printed_again_from_a_label_on(
    client_for: ClientFor, people: People, *, by_code: bool
) -> None:
    codes = [frag.code_id for frag in make_frags(people[Role.GROWER], 6)]
    run = start_run(codes, by=people[Role.GROWER], form="stem")
    client = client_for(Role.GROWER)
    first = show_code(codes[3]).lower() if by_code else "4"

    made = client.post(f"/labels/runs/{run.pk}", sent(first=first, skip="2"))

    (found,) = symbols_of(client.get(f"{made['Location']}.pdf").content)
    assert {read_code(one.text) for one in found} == set(codes[3:])
    again = PrintRun.objects.latest("pk")
    assert (again.again_of, again.first, again.form, again.skip) == (run, 4, "stem", 2)
    page = words_on(client.get(f"/labels/runs/{again.pk}"))
    assert "Printed again" in page
    assert "from label 4 on" in page


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"first": "0"}, "This run has labels 1 to 2"),
        ({"first": "3"}, "Begin again with one of them, not 3"),
        ({"first": "x"}, "A code has 7 characters"),
        ({"first": ""}, "This field is required"),
        ({"first": "7K3-Q9F-N"}, "7K3-Q9F-N is not in this run"),
        ({"skip": "30"}, "skip 0 to 29"),
        ({"skip": "-1"}, "greater than or equal to 0"),
    ],
)
def test_a_label_that_the_run_has_not_is_said(
    client_for: ClientFor, people: People, fields: dict[str, str], message: str
) -> None:
    codes = [frag.code_id for frag in make_frags(people[Role.GROWER], 2)]
    run = start_run(codes, by=people[Role.GROWER])
    form = sent(**({"first": "1", "skip": "0"} | fields))
    answer = client_for(Role.GROWER).post(f"/labels/runs/{run.pk}", form)
    assert answer.status_code == 400
    assert message in words_on(answer)
    assert PrintRun.objects.count() == 1


def test_a_label_that_was_thrown_away_says_so_when_it_is_scanned(
    client_for: ClientFor, people: People
) -> None:
    one, two = (run_codes(start_run((), blank=1, by=people[Role.GROWER]))[0] for _ in range(2))
    client = client_for(Role.GROWER)
    client.post(f"/labels/rolls/{one.run}", sent())
    gone = client.get(f"/T/{one.pk}")
    assert "Thrown away" in words_on(gone)
    assert f"first={one.pk}" not in gone.content.decode()
    assert f"first={two.pk}" in client.get(f"/T/{two.pk}").content.decode()


def test_the_bench_leads_to_the_blank_labels_on_hand(client_for: ClientFor, people: People) -> None:
    page = client_for(Role.GROWER).get("/bench").content.decode()
    assert 'href="/labels/rolls"' in page
