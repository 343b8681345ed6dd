"""What a picture is filed under, by the labels in it; which part is whose; what is proposed."""

from datetime import UTC, datetime, timedelta

import pytest

from fraginv.growth.rules.intake import (
    LONGEST_SAID,
    Named,
    Plan,
    Read,
    Seen,
    plan_for,
    said_in_short,
)
from fraginv.growth.rules.parts import WIDTHS, part_of
from fraginv.growth.rules.proposing import (
    Proposal,
    best,
    by_scan,
    by_sequence,
    by_work,
    next_hole,
)

ONE, TWO, THREE, RACK, LIST = "7K3Q9FN", "0000001", "0000002", "AAAAAA1", "BBBBBB1"
NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


def square(code: str, x: float = 100, y: float = 100, *, side: float = 40, times: int = 1) -> Seen:
    half = side / 2
    corners = (
        (x - half, y - half),
        (x + half, y - half),
        (x + half, y + half),
        (x - half, y + half),
    )
    return Seen(code, corners, times)


def frag(code: str, pk: int, rack: int | None = 1, stage: str = "") -> Named:
    return Named(code, "frag", pk, rack, stage)


KNOWN = {
    ONE: frag(ONE, 1),
    TWO: frag(TWO, 2),
    THREE: frag(THREE, 3, rack=2),
    RACK: Named(RACK, "rack", 9, 9),
    LIST: Named(LIST, "list"),
    "sold": frag("sold", 4, rack=None, stage="sold"),
    "blank": Named("blank", "blank"),
    "colony": Named("colony", "colony", 5, rack=1),
    "afar": Named("afar", "colony", 6, rack=2),
    "old": frag("old", 1),
    "nowhere": frag("nowhere", 7, rack=None),
    "too": frag("too", 8, rack=None),
    "rack B": Named("rack B", "rack", 8, 8),
}


def plan(*codes: str, rack: int | None = None, foreign: int = 0, unread: int = 0) -> Plan:
    read = Read(tuple(square(code, 100 * at) for at, code in enumerate(codes)), foreign, unread)
    return plan_for(read, known=KNOWN, rack=rack)


@pytest.mark.parametrize(
    ("codes", "kind", "pk"),
    [
        ((ONE,), "frag", 1),
        (("sold",), "frag", 4),
        (("colony",), "colony", 5),
        ((ONE, "old"), "frag", 1),
        ((RACK,), "rack", 9),
        ((RACK, "colony"), "colony", 5),
        ((ONE, RACK), "rack", 9),
        ((ONE, TWO), "rack", 1),
        ((ONE, TWO, THREE), "rack", 1),
        ((ONE, TWO, "colony"), "rack", 1),
        ((ONE, THREE, RACK), "rack", 9),
    ],
    ids=lambda value: "+".join(value) if isinstance(value, tuple) else str(value),
)
def test_what_is_filed_by_itself(codes: tuple[str, ...], kind: str, pk: int) -> None:
    found = plan(*codes)
    assert found.subject is not None
    assert (found.subject.kind, found.subject.pk, found.problem) == (kind, pk, None)


@pytest.mark.parametrize(
    ("codes", "why"),
    [
        ((), "no-label"),
        (("2PQ8XYZ",), "unknown-code"),
        (("blank",), "blank-label"),
        ((LIST,), "not-a-frag"),
        (("2PQ8XYZ", "blank"), "unknown-code"),
        ((ONE, "2PQ8XYZ"), "two-labels"),
        ((ONE, THREE), "several-labels"),
        (("nowhere", "too"), "several-labels"),
        ((RACK, "rack B"), "two-racks"),
        ((ONE, TWO, "afar"), "colony-among"),
    ],
    ids=lambda value: "+".join(value) if isinstance(value, tuple) else str(value),
)
def test_what_a_person_must_decide(codes: tuple[str, ...], why: str) -> None:
    found = plan(*codes)
    assert found.subject is None
    assert found.problem is not None
    assert found.problem.code == why
    assert len(why) <= 20
    assert found.problem.text.endswith(".")
    assert len(found.problem.text) <= LONGEST_SAID


def test_where_it_was_taken_decides_where_labels_do_not() -> None:
    assert plan(ONE, THREE, rack=7).subject == Named("", "rack", 7)
    # What stands there by what is written down tells more.
    assert plan(ONE, TWO, rack=7).subject == Named("", "rack", 1)
    assert plan(ONE, rack=7).subject == KNOWN[ONE]
    assert plan(rack=7).problem is not None


def test_one_label_beside_what_cannot_be_read_is_left_to_a_person() -> None:
    found = plan(ONE, unread=1)
    assert found.problem is not None
    assert found.problem.code == "unread-label"
    assert plan(ONE, TWO, unread=2).notes == ("2 more labels could not be read.",)


def test_codes_of_other_systems_are_said() -> None:
    found = plan(foreign=2)
    assert found.problem is not None
    assert found.problem.code == "foreign-code"
    assert plan(ONE, foreign=2).subject == KNOWN[ONE]


def test_a_code_at_two_places_is_not_believed() -> None:
    alone = plan_for(Read((square(ONE, times=2),)), known=KNOWN, rack=None)
    assert alone.problem is not None
    assert alone.problem.code == "code-twice"
    among = plan_for(Read((square(ONE, times=2), square(TWO, 300))), known=KNOWN, rack=None)
    assert among.parts == (KNOWN[TWO],)
    assert "7K3-Q9F-N stands on two labels" in among.notes[0]


def test_what_is_said_of_a_racks_photo() -> None:
    found = plan("sold", ONE, TWO, THREE, "2PQ8XYZ", rack=1)
    assert found.notes == (
        "sol-d- is sold already; its photo is kept all the same.",
        "By what is written down, 000-000-2 stands elsewhere.",
        "2PQ-8XY-Z belongs to nothing here.",
    )
    assert len(found.parts) == 4


def test_long_words_are_cut() -> None:
    assert said_in_short(["a" * 300, "b" * 300]).endswith("…")
    assert len(said_in_short(["a" * 300, "b" * 300])) == LONGEST_SAID
    assert said_in_short([]) == ""


def test_a_part_reaches_towards_its_neighbours_and_no_further_than_some_widths() -> None:
    alone = square(ONE, 500, 500)
    reach = WIDTHS * 40
    assert part_of(alone, labels=[alone], width=2000, height=2000) == (
        500 - reach,
        500 - reach,
        500 + reach,
        500 + reach,
    )
    right, above = square(TWO, 600, 510), square(THREE, 490, 380)
    found = part_of(alone, labels=[alone, right, above], width=2000, height=2000)
    assert found == (500 - reach, 500 - 90, 500 + 75, 500 + reach)


def test_a_part_stays_within_the_picture() -> None:
    corner = square(ONE, 10, 990)
    left, top, right, bottom = part_of(corner, labels=[corner], width=1000, height=1000)
    assert (left, bottom) == (0, 1000)
    assert right > left
    assert bottom > top


def test_who_scans_first_and_then_shoots_has_told_us() -> None:
    scanned = [
        (ONE, NOON - timedelta(minutes=20)),
        (TWO, NOON - timedelta(minutes=2)),
        (THREE, NOON - timedelta(seconds=20)),
        (RACK, NOON + timedelta(minutes=1)),
    ]
    assert by_scan(scanned, taken_at=NOON) == [
        Proposal(THREE, "scanned 20 s before"),
        Proposal(TWO, "scanned 2 min before"),
    ]
    assert by_scan(scanned, taken_at=None) == []
    assert by_work(scanned, taken_at=None) == []
    assert by_work(scanned, taken_at=NOON)[0] == Proposal(THREE, "in hand 20 s before")


def test_what_came_before_and_after_in_time() -> None:
    gap = timedelta(seconds=-12)
    assert by_sequence(ONE, gap=gap, follows=True, beside=[TWO]) == [
        Proposal(TWO, "next after the piece taken 12 s before"),
        Proposal(ONE, "taken 12 s after a picture of it"),
    ]
    assert by_sequence(ONE, gap=timedelta(hours=3), follows=False) == []
    assert by_sequence(ONE, gap=None, follows=False) == [
        Proposal(ONE, "taken before a picture of it")
    ]


def test_the_next_hole_is_the_next_that_is_filled() -> None:
    holes = [((2, 1), "c"), ((1, 4), "b"), ((1, 1), "a")]
    assert next_hole(holes, start=(1, 1)) == ["b"]
    assert next_hole(holes, start=(1, 4)) == ["c"]
    assert next_hole(holes, start=(2, 1)) == []
    assert next_hole(holes, start=(2, 1), backwards=True) == ["b"]


def test_each_thing_is_proposed_once_for_its_best_reason() -> None:
    many = [Proposal(str(number), "later") for number in range(9)]
    found = best([Proposal("1", "first")], many)
    assert found[0] == Proposal("1", "first")
    assert len(found) == len({one.code for one in found}) == 6
