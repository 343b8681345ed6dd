"""One-time codes as a phone works them out, written from the standards and not from a library."""

import base64
import hmac
import struct
import time

STEP_SECONDS = 30


def code_at(secret: str, moment: float, *, digits: int = 6) -> str:
    """Return the code of a key in base32 at a moment.

    Source: RFC 6238, section 4.2, with HOTP of RFC 4226, section 5.3.
    """
    key = base64.b32decode(secret)
    mark = hmac.digest(key, struct.pack(">Q", int(moment) // STEP_SECONDS), "sha1")
    place = mark[-1] & 15
    number = struct.unpack(">I", mark[place : place + 4])[0] & 0x7FFFFFFF
    return str(number % 10**digits).zfill(digits)


def code_now(secret: str, *, steps: int = 0) -> str:
    """Return the code that a phone shows now, or some steps of half a minute later."""
    return code_at(secret, time.time() + steps * STEP_SECONDS)
