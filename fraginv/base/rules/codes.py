"""Codes on labels: drawing, checking, reading and showing them."""

import re
from collections.abc import Callable

from fraginv.base.errors import InputError

# Digits and capitals without I, L, O and U, which are misread or make words.
ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
# What ISO/IEC 7064 MOD 37,36 counts in: a check character may be any of these.
CHECK_ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
PAYLOAD_LENGTH = 6
CODE_LENGTH = PAYLOAD_LENGTH + 1
DRAWS = 1000
LOOK_ALIKES = str.maketrans("OIL", "011")
# Space, no-break space, tab, dot, underscore, hyphen and the dashes that phones put for it.
SEPARATORS = str.maketrans("", "", " \u00a0\t._-\u2010\u2011\u2012\u2013\u2014\u2212")
EXAMPLE = "7K3-Q9F-N"
SHOWN_AT_MOST = 40
HOST = re.compile(r"[A-Z0-9]([A-Z0-9.-]*[A-Z0-9])?(:[0-9]{1,5})?")
LONGEST_HOST = 60


class CodeError(InputError):
    """What was typed or scanned is not a code; ``data["reason"]`` says why.

    Reasons: ``empty``, ``length``, ``character`` (one that no code can hold)
    and ``check`` (the check character does not fit the others).
    """

    code = "code"


def check_character(payload: str) -> str:
    """Return the check character for a payload of digits and capital letters.

    Raises: CodeError if a character is not one of 0-9 and A-Z.
    Source: ISO/IEC 7064:2003, hybrid system MOD 37,36.
    """
    size = len(CHECK_ALPHABET)
    running = size
    for character in payload:
        value = CHECK_ALPHABET.find(character)
        if value < 0:
            raise unfit_character(character, payload)
        running = (running + value) % size or size
        running = running * 2 % (size + 1)
    return CHECK_ALPHABET[(1 - running) % size]


def draw_code(choice: Callable[[str], str]) -> str:
    """Draw a code of seven characters, none of them I, L, O or U.

    Args: ``choice`` returns one character of the text that it is given
    (``secrets.choice``, or a seeded one for the demo).
    Raises: RuntimeError if ``choice`` is so far from random that no draw fits.
    """
    for _ in range(DRAWS):
        payload = "".join(choice(ALPHABET) for _ in range(PAYLOAD_LENGTH))
        check = check_character(payload)
        if check in ALPHABET:
            return payload + check
    raise RuntimeError(f"no code in {DRAWS} draws: the source of chance is not random")


def read_code(text: str) -> str:
    """Return the code in what was typed or scanned, as seven plain characters.

    Takes a code in any case, with or without separators, or an address that
    ends in one. O is read as 0, I and L as 1.

    Raises: CodeError with a message for the person who typed it.
    """
    typed = last_part(text)
    folded = upper_ascii(typed.translate(SEPARATORS)).translate(LOOK_ALIKES)
    if not folded:
        raise CodeError(f"Type or scan a code, such as {EXAMPLE}.", reason="empty")
    if len(folded) != CODE_LENGTH:
        raise wrong_length(folded)
    for character in folded:
        if character not in ALPHABET:
            raise unfit_character(character, typed)
    if check_character(folded[:PAYLOAD_LENGTH]) != folded[PAYLOAD_LENGTH]:
        raise CodeError(
            f"A character in {show_code(folded)} is wrong; look at the label again.",
            reason="check",
            text=folded,
        )
    return folded


def show_code(code: str) -> str:
    """Return a code as people read it: 7K3-Q9F-N."""
    return f"{code[:3]}-{code[3:6]}-{code[6:]}"


def address_path(code: str) -> str:
    """Return the path of the page that a label opens."""
    return f"/T/{code}"


def address(host: str, code: str) -> str:
    """Return what a symbol carries: capitals only, for the short alphanumeric mode.

    Source: ISO/IEC 18004 alphanumeric set; RFC 3986: scheme and host in any case.
    """
    return f"HTTPS://{host.upper()}{address_path(code)}"


def read_host(text: str) -> str:
    """Read the host that labels carry, in capitals; a port may follow it.

    Raises: InputError for what is no host name, or is longer than can be kept.
    Source: RFC 952 and RFC 1123, section 2.1: letters, digits, hyphens and dots.
    """
    host = upper_ascii(text.strip())
    if not HOST.fullmatch(host) or len(host) > LONGEST_HOST:
        raise InputError(
            f"{host[:LONGEST_HOST]!r} is no host for labels. Write it as in REEF.EXAMPLE, "
            f"with at most {LONGEST_HOST} characters."
        )
    return host


def last_part(text: str) -> str:
    """Return the last part of an address without its query, or the text itself."""
    return text.split("?")[0].split("#")[0].strip().rstrip("/").rsplit("/", 1)[-1].strip()


def upper_ascii(text: str) -> str:
    """Return the text with a-z as capitals; other letters stay as they are."""
    return "".join(c.upper() if c.isascii() else c for c in text)


def wrong_length(folded: str) -> CodeError:
    """Return the error for a text with too few or too many characters."""
    shown = folded if len(folded) <= SHOWN_AT_MOST else folded[:SHOWN_AT_MOST] + "…"
    return CodeError(
        f"A code has {CODE_LENGTH} characters, as in {EXAMPLE}; {shown} has {len(folded)}.",
        reason="length",
        text=shown,
    )


def unfit_character(character: str, text: str) -> CodeError:
    """Return the error for a character that no code can hold."""
    shown = character if character.isprintable() else ascii(character)
    return CodeError(
        f"“{shown}” in {text[:SHOWN_AT_MOST]} cannot be in a code; look at the label again.",
        reason="character",
        text=text,
    )
