"""The scripts that decide what a scan does, without a page: tables, and long random runs."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from playwright.sync_api import Browser, Page

from fraginv.base.rules.codes import ALPHABET, CodeError, check_character, read_code, show_code
from fraginv.front.rules.scans import is_end
from tests.house.test_scripts import SITE, answer

pytestmark = pytest.mark.browser

FRAG, OTHER, RACK = "7K3Q9FN", "04T3PN6", "1F5EBAX"
MACHINE = "await import('/static/js/scan/machine.js')"


@pytest.fixture(scope="module")
def empty(browser: Browser) -> Iterator[Page]:
    """An empty page beside the static files, for all tests of this module."""
    page = browser.new_page()
    page.route("**/*", answer)
    page.goto(f"{SITE}/")
    yield page
    page.close()


def run(page: Page, script: str, given: Any = None) -> Any:
    """Run a script that knows the machine as ``m`` and what it is given as ``given``."""
    return page.evaluate(
        f"async (given) => {{ const m = {MACHINE};"
        f" const c = await import('/static/js/scan/code.js'); {script} }}",
        given,
    )


def test_the_codes_of_these_tests_are_codes() -> None:
    assert [read_code(code) for code in (FRAG, OTHER, RACK)] == [FRAG, OTHER, RACK]


# Source: ISO/IEC 7064 MOD 37,36, rows of published tables: the Global Release Identifier's
# example, and a data-platform manual's (CC-1 of the published check values).
@pytest.mark.parametrize(
    ("payload", "check"),
    [("A12425GABC1234002", "M"), ("DADPIDA3897722461", "J"), ("123AB", "X")],
)
def test_the_check_character_is_the_standards(empty: Page, payload: str, check: str) -> None:
    assert run(empty, "return c.checkCharacter(given)", payload) == check
    assert check_character(payload) == check


def kind_of(text: str) -> dict[str, str]:
    """Say as the server would what was read."""
    try:
        return {"is": "code", "code": read_code(text)}
    except CodeError as error:
        return {"is": error.data["reason"], "code": ""}


@given(
    st.lists(
        st.one_of(
            st.text("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefgilou -._/?#", max_size=12),
            st.text(ALPHABET, min_size=6, max_size=6).map(
                lambda six: f"HTTPS://REEF.TEST/T/{six}{check_character(six)}"
            ),
            st.text(ALPHABET, min_size=7, max_size=7),
            st.text(ALPHABET, min_size=6, max_size=6).map(
                lambda six: show_code(six + check_character(six)).lower()
            ),
        ),
        max_size=40,
    )
)
def test_phone_and_server_read_alike(empty: Page, texts: list[str]) -> None:
    found = run(empty, "return given.map(c.readText)", texts)
    for text, read in zip(texts, found, strict=True):
        expected = kind_of(text)
        if expected["is"] == "code":
            assert (read["is"], read["mark"], read["sent"]) == ("code", *[expected["code"]] * 2)
        elif expected["is"] == "check":
            assert read["is"] == "wrong"
        elif expected["is"] == "empty":
            assert read["is"] == "empty"
        else:
            assert read["is"] == ("end" if is_end(read["mark"]) else "text")


def reads(page: Page, *steps: dict[str, Any], **start: Any) -> list[dict[str, Any]]:
    """Let the machine read one thing after another, and return what it says of each.

    A step without a text chooses something instead.
    """
    state = {"person": 5, "racks": {RACK: "A, rack 1"}} | start
    script = """
      let state = m.begin(given.state);
      return given.steps.map((step, n) => {
        if (step.text === undefined) { state = m.choose(state, step); return null; }
        const read = m.read(state, { by: "hand", key: `k${n}`, at: 1000 * n, ...step });
        state = read.state;
        return { ...read.out, queue: state.queue.length };
      }).filter(Boolean);
    """
    found: list[dict[str, Any]] = run(page, script, {"state": state, "steps": list(steps)})
    return found


def test_each_act_asks_for_what_is_chosen_before(empty: Page) -> None:
    for act, need in (("move", "rack"), ("lose", "cause"), ("ready", "size")):
        refused, kept = reads(
            empty,
            {"text": FRAG, "at": 0},
            {need: "x"},
            {"text": FRAG, "at": 5000, "key": "k"},
            act=act,
        )
        assert refused["kind"] == "refused"
        assert need in refused["words"]
        assert kept["scan"] == {
            **{"key": "k", "person": 5, "act": act, "code": FRAG, "at": 5000, need: "x"}
        }
    for act in ("seen", "label"):
        (kept,) = reads(empty, {"text": FRAG, "at": 7, "key": "k"}, act=act)
        assert kept["scan"] == {"key": "k", "person": 5, "act": act, "code": FRAG, "at": 7}


def test_a_rack_then_frags_then_the_next_rack(empty: Page) -> None:
    other = "6RXD3GQ"
    read_code(other)
    said = reads(
        empty,
        *({"text": text} for text in (RACK, FRAG, show_code(other).lower(), OTHER)),
        act="move",
        racks={RACK: "A, rack 1", other: "A, rack 2"},
    )
    assert [one["kind"] for one in said] == ["rack", "scan", "rack", "scan"]
    assert [one["scan"]["rack"] for one in said if "scan" in one] == [RACK, other]
    assert said[2]["name"] == "A, rack 2"


def test_the_end_of_a_racks_code_counts_until_one_is_chosen(empty: Page) -> None:
    said = reads(empty, {"text": "bax"}, {"text": "BAX", "at": 9000}, act="move")
    assert [one["kind"] for one in said] == ["rack", "scan"]
    assert said[1]["scan"]["code"] == "BAX"


@pytest.mark.parametrize(
    ("act", "kind"),
    [
        ("look", "look"),
        ("label", "scan"),
        ("seen", "refused"),
        ("ready", "refused"),
        ("lose", "refused"),
    ],
)
def test_a_rack_where_none_is_looked_for(empty: Page, act: str, kind: str) -> None:
    (said,) = reads(empty, {"text": RACK}, act=act, cause="fell", size="M")
    assert (said["kind"], said["queue"]) == (kind, 1 if kind == "scan" else 0)
    assert said.get("words") in (None, "1F5-EBA-X is A, rack 1. Scan a frag.")


@pytest.mark.parametrize(
    ("by", "moments", "counted"),
    [
        ("hand", (0, 2999), 1),
        ("hand", (0, 3000), 2),
        ("hand", (0, 2000, 4000), 2),  # three seconds since it last counted
        ("camera", (0, 2999), 1),
        ("camera", (0, 2000, 4000, 6000), 1),  # it never left the view
        ("camera", (0, 2000, 5000), 2),
    ],
)
def test_duplicates_count_once(
    empty: Page, by: str, moments: tuple[int, ...], counted: int
) -> None:
    said = reads(empty, *({"text": FRAG, "by": by, "at": at} for at in moments), act="seen")
    assert [one["kind"] for one in said].count("scan") == counted
    assert [one["kind"] for one in said].count("again") == len(moments) - counted


def test_other_codes_between_change_nothing_for_duplicates(empty: Page) -> None:
    said = reads(empty, *({"text": text} for text in (FRAG, OTHER, FRAG, OTHER)), act="seen")
    assert [one["kind"] for one in said] == ["scan", "scan", "again", "again"]


def test_what_the_camera_still_sees_is_not_lost_by_choosing_so(empty: Page) -> None:
    said = reads(
        empty,
        {"text": FRAG, "by": "camera", "at": 0},
        {"act": "lose", "cause": "fell"},
        {"text": FRAG, "by": "camera", "at": 2000},
        {"text": FRAG, "by": "hand", "at": 2500},
    )
    assert [one["kind"] for one in said] == ["look", "again", "scan"]


@pytest.mark.parametrize(
    ("text", "by", "away", "kind"),
    [
        ("", "hand", False, "refused"),
        ("7K3-Q9F-X", "hand", True, "refused"),
        ("7K3-Q9F-X", "hand", False, "scan"),  # the server may know it as an old code
        ("A-17 b", "hand", True, "scan"),
        ("9FN", "hand", True, "scan"),
        ("7K3-Q9F-X", "camera", False, "strange"),
        ("https://elsewhere.test/menu", "camera", False, "strange"),
        ("9FN", "camera", False, "strange"),
    ],
)
def test_what_is_no_whole_code(empty: Page, text: str, by: str, kind: str, *, away: bool) -> None:
    (said,) = reads(empty, {"text": text, "by": by}, act="seen", away=away)
    assert said["kind"] == kind
    if kind == "scan":
        assert said["scan"]["code"] == text


@pytest.mark.parametrize(
    ("status", "body", "expected"),
    [
        (200, {"ok": True}, "done"),
        (200, None, "unreached"),  # a page of somebody else's network
        (0, None, "unreached"),
        (400, {"code": "input"}, "refused"),
        (404, {"code": "not_found"}, "refused"),
        (409, {"code": "overtaken"}, "refused"),
        (403, {"code": "not_allowed"}, "refused"),
        (409, {"code": "other_person"}, "stopped"),
        (401, {"code": "sign_in"}, "stopped"),
        (403, None, "stopped"),  # the form's token is of another visit
        (429, {"code": "throttled"}, "unreached"),
        (500, None, "unreached"),
        (503, None, "unreached"),
        (502, {"code": "x"}, "unreached"),
    ],
)
def test_what_answers_mean(empty: Page, status: int, body: Any, expected: str) -> None:
    assert run(empty, "return m.judge(...given)", [status, body]) == expected


def test_settling_by_hand(empty: Page) -> None:
    script = """
      let state = m.begin({ person: 5, act: "seen" });
      const at = (n) => ({ text: given[n], by: "hand", key: `k${n}`, at: 10 * n });
      state = m.read(state, at(0)).state;
      state = m.read(state, at(1)).state;
      const first = m.next(state);
      const body = { code: "overtaken", message: "It was moved.", choices: [] };
      state = m.answered(state, first, { status: 409, body }, 20);
      const told = m.unsettled(state).map((one) => [one.key, one.words]);
      const then = m.next(state).key;
      state = m.merged(state, state.queue.map(({ words, ...kept }) => kept));
      const remembered = m.unsettled(state)[0].words;
      state = m.again(state, "k0", 99);
      const order = m.waiting(state).map((one) => [one.key, one.at, one.settle]);
      state = m.dropped(m.again(state, "gone", 5), "k1");
      return { told, then, remembered, order, left: m.waiting(state).length };
    """
    assert run(empty, script, [FRAG, OTHER]) == {
        "told": [["k0", "It was moved."]],
        "then": "k1",
        "remembered": "It was moved.",
        "order": [["k1", 10, None], ["k0", 99, None]],
        "left": 1,
    }


@pytest.mark.parametrize(
    ("code", "passed_ms", "settles"),
    [
        ("code", 9_999, False),  # mistyped a moment ago: it is typed again
        ("several", 500, False),
        ("code", 10_000, True),  # it waited: nobody has the piece in the hand any more
        ("several", 10_000, True),
        ("conflict", 0, True),
        ("overtaken", 0, True),
        ("not_allowed", 0, True),
    ],
)
def test_what_is_still_in_the_hand_is_scanned_again(
    empty: Page, code: str, passed_ms: int, *, settles: bool
) -> None:
    script = """
      const [code, passed] = given;
      let state = m.begin({ person: 5, act: "seen" });
      state = m.read(state, { text: "7K3Q9FN", by: "hand", key: "k", at: 1000 }).state;
      const body = { code, message: "No." };
      state = m.answered(state, m.next(state), { status: 409, body }, 1000 + passed);
      return [m.waiting(state).length, m.unsettled(state).length];
    """
    assert run(empty, script, [code, passed_ms]) == [0, 1 if settles else 0]


def test_what_was_refused_may_be_scanned_again_at_once_but_not_by_looking_on(empty: Page) -> None:
    script = """
      let state = m.begin({ person: 5, act: "seen" });
      const see = (by, at) => {
        const read = m.read(state, { text: given, by, at, key: `k${at}` });
        state = read.state;
        return read.out.kind;
      };
      const said = [see("camera", 0)];
      const body = { code: "not_found", message: "None of ours." };
      state = m.answered(state, m.next(state), { status: 404, body }, 300);
      said.push(see("camera", 400), see("hand", 900), see("hand", 1900));
      return said;
    """
    assert run(empty, script, FRAG) == ["scan", "again", "scan", "again"]


def test_the_queue_belongs_to_the_one_who_scanned(empty: Page) -> None:
    script = """
      const scan = (key, person, at) => ({ key, person, act: "seen", code: "x", at });
      let state = m.begin({ person: 5 });
      state = m.merged(state, [scan("c", 5, 30), scan("b", 6, 20), scan("a", 5, 10)]);
      return [m.waiting(state), m.ofOthers(state)].map((list) => list.map((one) => one.key));
    """
    assert run(empty, script) == [["a", "c"], ["b"]]


SIMULATION = (Path(__file__).parent / "scan_simulation.js").read_text(encoding="utf-8")


@given(st.integers(0, 2**32 - 1))
def test_two_tabs_and_a_bad_network_do_each_scan_once_and_in_order(empty: Page, seed: int) -> None:
    """Scans from two tabs of one phone, answers that get lost, refusals that are tried again."""
    told = run(empty, SIMULATION, seed)
    text = json.dumps(told, indent=1)
    assert told["left"] == 0, text
    assert told["scanned"] > 0, text
    assert sorted(told["done"] + told["droppedKeys"]) == sorted(set(told["keys"])), text
    assert told["overtaking"] == [], text
