"""Words by which things are found, whatever their case, accents and order."""

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base.actions.words import write_words
from fraginv.base.queries.words import things_named, word_differences
from fraginv.base.rules.words import LONGEST, most_telling, words_of

NAMES = {
    1: ("Harbour Lantern", "Acropora", ""),
    2: ("Lanterne d'été", "Zoanthus", "sansibaricus"),
    3: ("ŁÓDŹ 7", "Straße"),
    4: ("harbour-side 12% _x", "Acropora"),
}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        pytest.param("Harbour  Lantern", ["harbour", "lantern"], id="case and spaces"),
        pytest.param("d'été", ["d", "ete"], id="accents"),
        pytest.param("Straße STRASSE", ["strasse"], id="full case folding"),
        pytest.param("ﬁne", ["fine"], id="compatibility forms"),
        pytest.param("a_b-c/d 12%", ["a", "b", "c", "d", "12"], id="what divides"),
        pytest.param("珊瑚 корал", ["珊瑚", "корал"], id="other scripts"),
        pytest.param(" -%_ ", [], id="nothing"),
    ],
)
def test_words(text: str, words: list[str]) -> None:
    """Unicode Standard 16.0, Annex 15 (NFKD) and section 3.13 (ß folds to ss, ﬁ to fi)."""
    assert words_of(text) == words


def test_a_very_long_word_is_cut() -> None:
    assert words_of("x" * 100) == ["x" * LONGEST]


@pytest.mark.parametrize(
    ("words", "first"),
    [
        (["rack", "17"], "17"),
        (["lan", "harbour"], "harbour"),
        (["7", "17", "trough"], "17"),
        (["x"], "x"),
    ],
)
def test_what_tells_the_most_leads(words: list[str], first: str) -> None:
    assert most_telling(words)[0] == first
    assert sorted(most_telling(words)) == sorted(words)


@pytest.fixture
def named(db: None) -> None:
    """Things of one kind, and one of another that must not be found with them."""
    write_words(NAMES.items(), kind="variety")
    write_words([(9, ("Harbour Lantern",))], kind="customer")


@pytest.mark.parametrize(
    ("text", "things"),
    [
        ("lan", {1, 2}),
        ("LANTERN", {1, 2}),
        ("harbour lan", {1}),
        ("lan harb", {1}),
        ("acro harb", {1, 4}),
        ("été", {2}),
        ("ete", {2}),
        ("strasse", {3}),
        ("7", {3}),
        ("antern", set()),
        ("12%", {4}),
        ("%", set()),
        ("_", set()),
        ("", set()),
    ],
)
def test_finding(named: None, text: str, things: set[int]) -> None:
    assert set(things_named(text, kind="variety")) == things


def test_finding_is_one_statement(
    named: None, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    with django_assert_max_num_queries(1):
        assert list(things_named("harbour lantern acropora", kind="variety")) == [1]


def test_words_that_are_missing_or_too_many_are_named(named: None) -> None:
    assert not list(word_differences(NAMES.items(), kind="variety"))
    changed = {**NAMES, 1: ("Harbour Beacon", "Acropora"), 5: ("New",)}
    del changed[4]
    assert [str(one) for one in word_differences(changed.items(), kind="variety")] == [
        "variety 1: is not found as it is named: beacon, lantern",
        "variety 5: is not found as it is named: new",
        "variety 4: is found by words, and is not there",
    ]
