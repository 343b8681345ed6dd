"""Drawing lots, unforeseeably or again the same."""

import re
from collections import Counter

from fraginv.base import chance

LETTERS = "ABCDEFGH"


def drawn(count: int = 40) -> str:
    return "".join(chance.choice(LETTERS) for _ in range(count))


def test_the_same_seed_draws_the_same_and_another_seed_does_not() -> None:
    texts = []
    for seed in (7, 7, 8):
        with chance.seeded(seed):
            texts.append(drawn())
    assert texts[0] == texts[1] != texts[2]


def test_without_a_seed_nothing_repeats() -> None:
    with chance.seeded(7):
        seeded = drawn()
    # By chance the same once in 8 to the power of 40.
    assert len({seeded, drawn(), drawn()}) == 3


def test_a_secret_is_long_and_never_repeatable() -> None:
    tokens = []
    for _ in range(2):
        with chance.seeded(7):
            tokens.append(chance.token())
    assert tokens[0] != tokens[1]
    # 43 characters of the alphabet of RFC 4648, section 5, hold 256 bits.
    assert all(re.fullmatch(r"[A-Za-z0-9_-]{43}", token) for token in tokens)


def test_every_character_is_drawn_about_as_often() -> None:
    with chance.seeded(1):
        counts = Counter(drawn(8_000))
    assert set(counts) == set(LETTERS)
    # 1,000 each; six standard deviations of the binomial distribution are 178.
    assert all(abs(count - 1_000) < 178 for count in counts.values())


def test_a_seed_inside_another_ends_with_its_block() -> None:
    with chance.seeded(1):
        chance.choice(LETTERS)
        with chance.seeded(2):
            inner = drawn()
        outer = drawn()
    with chance.seeded(2):
        assert drawn() == inner
    with chance.seeded(1):
        chance.choice(LETTERS)
        assert drawn() == outer
