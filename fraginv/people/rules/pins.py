"""PINs: what six digits must be, and where they are enough."""

import re
from datetime import timedelta

from fraginv.base.errors import InputError
from fraginv.base.rules.roles import Role

DIGITS = 6
TRIES = 5
# How long a phone knows somebody who signed in on it with a password.
KNOWN = timedelta(days=30)
# Whoever sets prices, enters costs or adds people always gives the password.
ROLES = frozenset({Role.GROWER, Role.SELLER})


def read_pin(text: str) -> str:
    """Return the six digits of a PIN that is not trivially weak.

    Raises: InputError that says what is wrong with it.
    """
    pin = text.replace(" ", "")
    if not re.fullmatch(rf"[0-9]{{{DIGITS}}}", pin):
        raise InputError(f"A PIN has {DIGITS} digits.")
    if is_weak(pin):
        raise InputError(
            "That PIN is among the first that anybody would try. "
            "Choose digits that are no row, no pattern and not all alike."
        )
    return pin


def is_weak(pin: str) -> bool:
    """Tell whether digits are few, count up or down, mirror or repeat themselves.

    Source: NIST SP 800-63B (2017), section 5.1.1.2, refuses repetitive and
        sequential characters; which patterns count is common practice, no source.
    """
    digits = [int(digit) for digit in pin]
    steps = {(after - before) % 10 for before, after in zip(digits, digits[1:], strict=False)}
    halves = {pin[:2], pin[2:4], pin[4:]}
    doubled = digits[::2] == digits[1::2]
    return (
        len(set(digits)) < 3
        or steps in ({1}, {9})
        or len(halves) == 1
        or pin[:3] in (pin[3:], pin[:2:-1])
        or (doubled and is_row(digits[::2]))
    )


def is_row(digits: list[int]) -> bool:
    """Tell whether digits count up or down by one."""
    steps = {after - before for before, after in zip(digits, digits[1:], strict=False)}
    return steps in ({1}, {-1})


def may_use_pin(role: str, *, has_factor: bool) -> bool:
    """Tell whether a PIN may ever stand for this person's password."""
    return role in ROLES and not has_factor
