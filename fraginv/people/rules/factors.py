"""Second factors: the address that a phone's camera takes a key from, and recovery codes."""

from urllib.parse import quote, urlencode

from fraginv.base.rules.codes import ALPHABET, LOOK_ALIKES, SEPARATORS
from fraginv.base.rules.roles import Role

RECOVERY_CODES = 10
RECOVERY_LENGTH = 10
ASKED = frozenset({Role.MANAGER, Role.OWNER})
PERIOD_SECONDS = 30
CODE_DIGITS = 6


def key_uri(secret: str, *, account: str, issuer: str) -> str:
    """Return the address from which a phone's program takes the key.

    Args: ``secret`` in base32 without padding.
    Source: the open key-URI form ``otpauth://totp/ISSUER:ACCOUNT?secret=…``, in which
        the issuer stands twice and neither part has a colon.
    """
    issuer, account = (part.replace(":", " ").strip() for part in (issuer, account))
    told = {
        "secret": secret,
        "issuer": issuer,
        "algorithm": "SHA1",
        "digits": CODE_DIGITS,
        "period": PERIOD_SECONDS,
    }
    label = f"{quote(issuer, safe='')}:{quote(account, safe='')}"
    return f"otpauth://totp/{label}?{urlencode(told, quote_via=quote)}"


def in_fours(secret: str) -> str:
    """Write a key in groups of four, to be typed."""
    return " ".join(secret[place : place + 4] for place in range(0, len(secret), 4))


def show_recovery(code: str) -> str:
    """Write a recovery code in two groups."""
    return f"{code[:5]}-{code[5:]}"


def read_recovery(text: str) -> str:
    """Return a recovery code as it was made, however it was typed; empty for what is none."""
    code = text.upper().translate(SEPARATORS).translate(LOOK_ALIKES)
    return code if len(code) == RECOVERY_LENGTH and set(code) <= set(ALPHABET) else ""


def read_code(text: str) -> str:
    """Return the six digits of a code, however they were spaced; empty for what is none."""
    code = text.translate(SEPARATORS)
    return code if len(code) == CODE_DIGITS and code.isascii() and code.isdigit() else ""
