"""Codes on labels, against ISO/IEC 7064 and the reference library python-stdnum."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_36

from fraginv.base.errors import InputError
from fraginv.base.rules.codes import (
    ALPHABET,
    CHECK_ALPHABET,
    DRAWS,
    CodeError,
    address,
    address_path,
    check_character,
    draw_code,
    read_code,
    read_host,
    show_code,
)

payloads = st.text(CHECK_ALPHABET, min_size=1, max_size=20)
codes = st.integers().map(lambda seed: draw_code(random.Random(seed).choice))

# The first three: published table of parameters and results, lobster-world.com,
# "BasicISO7064Mod3736Checksum". The ISAN rows: documentation of python-stdnum's
# isan and iso7064.mod_37_36 modules. All read on 25 November 2026.
PUBLISHED = [
    ("A12425GABC1234002", "M"),
    ("DADPIDA3897722461", "J"),
    ("123AB", "X"),
    ("0000000189470000", "8"),
    ("000000018947000000000000", "D"),
    ("00000000D07A0090", "Q"),
    ("00000000D07A009000000000", "X"),
]
# Computed with python-stdnum 2.2, not published.
COMPUTED = [
    ("CORAL", "G"),
    ("FRAG2026", "X"),
    ("ACR0001", "E"),
    ("ZOA00042", "J"),
    ("AB12CD34", "C"),
    ("0", "2"),
    ("Z", "4"),
    ("7K3Q9F", "N"),
]


@pytest.mark.parametrize(("payload", "check"), PUBLISHED + COMPUTED)
def test_check_character_of_examples(payload: str, check: str) -> None:
    assert check_character(payload) == check


def test_check_character_refuses_the_isan_whose_check_is_wrong() -> None:
    # Documentation of python-stdnum's isan module: ...-A-... is not valid, ...-I-... is.
    assert check_character("000000018CFA0000") == "I"
    assert check_character("000000018CFA0000") != "A"
    assert check_character("000000018CFA000000000000") == "K"


@given(payloads)
def test_check_character_agrees_with_the_reference_library(payload: str) -> None:
    assert check_character(payload) == mod_37_36.calc_check_digit(payload)


@given(payloads, st.data())
def test_every_single_wrong_character_is_caught(payload: str, data: st.DataObject) -> None:
    # ISO/IEC 7064 (from memory): all single substitutions are detected.
    place = data.draw(st.integers(0, len(payload) - 1))
    other = data.draw(st.sampled_from(CHECK_ALPHABET.replace(payload[place], "")))
    changed = payload[:place] + other + payload[place + 1 :]
    assert check_character(changed) != check_character(payload)


@pytest.mark.parametrize(
    ("one", "other", "check"),
    [("IJ", "JI", "0"), ("AYZ", "AZY", "4"), ("7KNO", "7KON", "Q"), ("Q2ZPQ", "Q2ZQP", "M")],
)
def test_some_swapped_neighbours_escape(one: str, other: str, check: str) -> None:
    # Known limits of MOD 37,36, computed with python-stdnum 2.2.
    assert check_character(one) == check_character(other) == check


def test_one_pair_of_neighbours_escapes_for_each_remainder() -> None:
    # Exhaustive: 36 of 22,680 ordered-once pairs escape, computed with python-stdnum 2.2.
    # A first character sets each of the 36 remainders once.
    tried = missed = 0
    for first in CHECK_ALPHABET:
        for place, left in enumerate(CHECK_ALPHABET):
            for right in CHECK_ALPHABET[place + 1 :]:
                tried += 1
                same = check_character(first + left + right) == check_character(
                    first + right + left
                )
                missed += same
    assert (missed, tried) == (36, 22_680)


@pytest.mark.parametrize("bad", ["a", "-", " ", "é", "٣", "*"])
def test_check_character_refuses_what_it_cannot_count(bad: str) -> None:
    with pytest.raises(CodeError, match="cannot be in a code"):
        check_character("7K" + bad)


def test_drawn_codes_hold_no_character_that_is_misread() -> None:
    choice = random.Random(20261125).choice
    drawn = [draw_code(choice) for _ in range(4_000)]
    assert {len(code) for code in drawn} == {7}
    assert set("".join(drawn)) == set(ALPHABET)
    assert not set("ILOU") & set("".join(drawn))
    assert {code[-1] for code in drawn} == set(ALPHABET)
    assert all(mod_37_36.is_valid(code) for code in drawn)
    assert len(set(drawn)) > 3_990


@pytest.mark.parametrize("forbidden", "ILOU")
def test_a_draw_with_a_forbidden_check_character_is_thrown_away(forbidden: str) -> None:
    seeded = random.Random(5)
    while True:
        payload = "".join(seeded.choices(ALPHABET, k=6))
        if mod_37_36.calc_check_digit(payload) == forbidden:
            break
    coming = iter(payload + "7K3Q9F")
    assert draw_code(lambda _: next(coming)) == "7K3Q9FN"


def test_draw_code_gives_up_on_chance_that_is_none() -> None:
    seeded = random.Random(6)
    bad = (seeded.choice(ALPHABET) for _ in range(10**6))
    payload = ""
    while not payload or check_character(payload) in ALPHABET:
        payload = "".join(next(bad) for _ in range(6))
    coming = iter(payload * DRAWS)
    with pytest.raises(RuntimeError, match="source of chance is not random"):
        draw_code(lambda _: next(coming))


@pytest.mark.parametrize(
    "text",
    [
        "7K3Q9FN",
        "7K3-Q9F-N",
        "7k3q9fn",
        " 7k3 q9f n\n",
        "7K3.Q9F.N",
        "7K3_Q9F_N",
        "7K3\u2013Q9F\u2011N",
        "7K3\u00a0Q9F\u00a0N",
        "HTTPS://REEF.TEST/T/7K3Q9FN",
        "https://reef.test/t/7k3q9fn/",
        "http://127.0.0.1:8000/T/7K3Q9FN?from=a/b#top",
        "https://old-host.test/somewhere/else/7K3-Q9F-N/",
        "/T/7K3Q9FN",
    ],
)
def test_read_code_takes_every_way_of_writing_it(text: str) -> None:
    assert read_code(text) == "7K3Q9FN"


@pytest.mark.parametrize(("typed", "code"), [("O1l", "011"), ("oiL", "011"), ("OII", "011")])
def test_read_code_folds_look_alikes(typed: str, code: str) -> None:
    tail = "ABC"
    check = mod_37_36.calc_check_digit(code + tail)
    assert check in ALPHABET
    assert read_code(typed + tail + check) == code + tail + check


@pytest.mark.parametrize(
    ("text", "reason", "message"),
    [
        ("", "empty", "Type or scan a code, such as 7K3-Q9F-N."),
        (" - ", "empty", "Type or scan a code, such as 7K3-Q9F-N."),
        ("7K3-Q9F", "length", "A code has 7 characters, as in 7K3-Q9F-N; 7K3Q9F has 6."),
        ("7k3q9fnn", "length", "A code has 7 characters, as in 7K3-Q9F-N; 7K3Q9FNN has 8."),
        ("https://reef.test/T/", "length", "A code has 7 characters, as in 7K3-Q9F-N; T has 1."),
        ("7K3-U9F-N", "character", "“U” in 7K3-U9F-N cannot be in a code; look at the label"),
        ("7K3-Q9F-*", "character", "“*” in 7K3-Q9F-* cannot be in a code; look at the label"),
        ("7K3Q9F\u0130", "character", "“\u0130” in 7K3Q9F\u0130 cannot be in a code"),
        ("7K3Q9F\u0663", "character", "“\u0663” in 7K3Q9F\u0663 cannot be in a code"),
        ("7K3Q\x009F", "character", r"“'\x00'” in"),
        ("7K3-Q9F-3", "check", "A character in 7K3-Q9F-3 is wrong; look at the label again."),
        ("7K3-9QF-N", "check", "A character in 7K3-9QF-N is wrong; look at the label again."),
    ],
)
def test_read_code_says_what_is_wrong(text: str, reason: str, message: str) -> None:
    with pytest.raises(CodeError) as caught:
        read_code(text)
    assert caught.value.message.startswith(message)
    assert caught.value.data["reason"] == reason
    assert (caught.value.code, caught.value.status) == ("code", 400)


def test_read_code_cuts_a_long_text_in_its_message() -> None:
    with pytest.raises(CodeError, match=r"; X{40}… has 5000\.$"):
        read_code("x" * 5000)


@given(codes)
def test_a_code_is_read_back_from_all_that_is_shown(code: str) -> None:
    assert read_code(show_code(code)) == code
    assert read_code(show_code(code).lower()) == code
    assert read_code(address("reef.test", code)) == code
    assert read_code(address_path(code).lower() + "/") == code


@given(codes, st.data())
def test_a_mistyped_code_is_refused(code: str, data: st.DataObject) -> None:
    place = data.draw(st.integers(0, 6))
    other = data.draw(st.sampled_from(ALPHABET.replace(code[place], "")))
    with pytest.raises(CodeError, match="is wrong; look at the label again"):
        read_code(code[:place] + other + code[place + 1 :])


@given(st.text(max_size=30))
def test_read_code_answers_any_text(text: str) -> None:
    try:
        code = read_code(text)
    except CodeError:
        return
    assert mod_37_36.is_valid(code)


def test_address_is_all_in_the_alphanumeric_set() -> None:
    # ISO/IEC 18004, alphanumeric mode: digits, capitals, space and $ % * + - . / :
    carried = address("reef.test", "7K3Q9FN")
    assert carried == "HTTPS://REEF.TEST/T/7K3Q9FN"
    assert set(carried) <= set(CHECK_ALPHABET + " $%*+-./:")


# RFC 1123, section 2.1: letters, digits and hyphens between dots; a digit may come first.
@pytest.mark.parametrize(
    ("typed", "host"),
    [
        (" reef.example ", "REEF.EXAMPLE"),
        ("3com.example", "3COM.EXAMPLE"),
        ("localhost:8000", "LOCALHOST:8000"),
        ("a-b.example", "A-B.EXAMPLE"),
        ("a" * 60, "A" * 60),
    ],
)
def test_a_host_is_read_in_capitals(typed: str, host: str) -> None:
    assert read_host(typed) == host


@pytest.mark.parametrize(
    "typed",
    ["", " ", "reef test", "https://reef.example", "reef.example/T", "-reef", "reef.", "réef", "é"]
    + ["a" * 61, "reef:port", "reef_example"],
)
def test_what_is_no_host_is_refused(typed: str) -> None:
    with pytest.raises(InputError, match="is no host for labels"):
        read_host(typed)
