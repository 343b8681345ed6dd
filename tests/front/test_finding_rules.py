"""Which answer comes first: tables of what is typed and what was meant."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fraginv.front.rules.finding import (
    KINDS,
    RANKS,
    Fit,
    best_of,
    count_words,
    fit_of_name,
    in_steps,
    rank_of,
)


@pytest.mark.parametrize(
    ("typed", "name", "fit"),
    [
        ("harbour lantern", "Harbour Lantern", Fit.NAMED),
        ("lantern HARBOUR", "Harbour Lantern", Fit.NAMED),
        ("harb", "Harbour Lantern", Fit.FIRST),
        ("harb lan", "Harbour Lantern", Fit.FIRST),
        ("lan harb", "Harbour Lantern", Fit.WITHIN),
        ("lan", "Harbour Lantern", Fit.WITHIN),
        ("été", "Ete d'Armor", Fit.FIRST),
        ("antern", "Harbour Lantern", Fit.BESIDE),
        ("acropora", "Harbour Lantern", Fit.BESIDE),
        ("rack 7", "rack 7", Fit.NAMED),
        ("rack 7", "rack 70", Fit.FIRST),
        ("7", "rack 7", Fit.WITHIN),
        ("", "rack 7", Fit.BESIDE),
        ("rack", "", Fit.BESIDE),
    ],
)
def test_how_a_text_fits_a_name(typed: str, name: str, fit: Fit) -> None:
    assert fit_of_name(typed, name=name) is fit


# The order that people at the racks asked for; common practice, no source.
BETTER = [
    ((Fit.CODE, "frag"), (Fit.END, "frag")),
    ((Fit.END, "frag"), (Fit.OLD, "frag")),
    ((Fit.OLD, "colony"), (Fit.PAPER, "paper")),
    ((Fit.PAPER, "paper"), (Fit.NAMED, "rack")),
    ((Fit.NAMED, "rack"), (Fit.NAMED, "variety")),
    ((Fit.NAMED, "system"), (Fit.FIRST, "variety")),
    ((Fit.NAMED, "variety"), (Fit.FIRST, "variety")),
    ((Fit.FIRST, "variety"), (Fit.WITHIN, "variety")),
    ((Fit.WITHIN, "variety"), (Fit.BESIDE, "variety")),
    ((Fit.NAMED, "genus"), (Fit.FIRST, "variety")),
    ((Fit.FIRST, "variety"), (Fit.FIRST, "rack")),
    ((Fit.FIRST, "customer"), (Fit.WITHIN, "variety")),
    ((Fit.WITHIN, "rack"), (Fit.CODE_BEGINS, "frag")),
    ((Fit.CODE_BEGINS, "frag"), (Fit.OLD_BEGINS, "frag")),
    ((Fit.BESIDE, "variety"), (Fit.NAMED, "colony")),
]


@pytest.mark.parametrize(("better", "worse"), BETTER)
def test_the_order(better: tuple[Fit, str], worse: tuple[Fit, str]) -> None:
    assert rank_of(better[0], kind=better[1]) < rank_of(worse[0], kind=worse[1])


def test_what_cannot_be_has_no_rank() -> None:
    with pytest.raises(KeyError):
        rank_of(Fit.PAPER, kind="frag")
    assert {kind for _, kind in RANKS} == set(KINDS)


@pytest.mark.parametrize(
    ("titles", "sorted_titles"),
    [
        (["rack 10", "rack 2", "Rack 1"], ["Rack 1", "rack 2", "rack 10"]),
        (["b", "A", "2"], ["2", "A", "b"]),
        (["x²", "x2"], ["x2", "x²"]),
        (["", "a"], ["", "a"]),
    ],
)
def test_titles_are_sorted_by_their_numbers(titles: list[str], sorted_titles: list[str]) -> None:
    assert sorted(titles, key=in_steps) == sorted_titles


def test_the_best_are_shown_and_no_kind_crowds_out_the_others() -> None:
    varieties = [(5, "variety", f"Lantern {n}") for n in range(9, 0, -1)]
    given_ = [*varieties, (9, "rack", "Lantern shelf"), (0, "frag", "7K3-Q9F-N")]
    shown = best_of(given_, most=6, most_of_kind=3)
    assert [given_[at][2] for at in shown] == [
        *("7K3-Q9F-N", "Lantern 1", "Lantern 2", "Lantern 3", "Lantern 4", "Lantern shelf"),
    ]
    assert best_of([], most=6, most_of_kind=3) == []


@given(
    st.lists(st.tuples(st.integers(0, 20), st.sampled_from(sorted(KINDS)), st.text(max_size=5))),
    st.integers(1, 9),
    st.integers(1, 9),
)
def test_as_many_as_fit_are_shown_in_order(
    found: list[tuple[int, str, str]], most: int, most_of_kind: int
) -> None:
    shown = best_of(found, most=most, most_of_kind=most_of_kind)
    assert len(shown) == len(set(shown)) == min(most, len(found))
    ranks = [found[at][0] for at in shown]
    assert ranks == sorted(ranks)


@pytest.mark.parametrize(
    ("count", "more", "words"),
    [
        (0, False, "Nothing found so far."),
        (1, False, "1 answer."),
        (8, False, "8 answers."),
        (8, True, "8 answers, and more on Enter."),
    ],
)
def test_what_is_announced(count: int, more: bool, words: str) -> None:
    assert count_words(count, more=more).startswith(words)
