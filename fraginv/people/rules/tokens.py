"""Links' secrets: how they are known again, and how they travel."""

import hashlib
import hmac
from base64 import urlsafe_b64decode, urlsafe_b64encode

from fraginv.base.rules.secrets import hash_of

TOKEN_BYTES = 32


def seal(token: str, *, key: bytes) -> str:
    """Cover a token, so that it can wait in a table of tasks until a mail takes it along.

    Each bit is turned or not by a keyed hash of the token's own hash, which no
    two tokens share. Who reads the table without the key learns nothing of it.

    Args: ``key`` as long as a hash.
    """
    mark = hash_of(token)
    return f"{mark}.{text_of(turned(bytes_of(token), pad(mark, key=key)))}"


def unseal(sealed: str, *, key: bytes) -> str:
    """Give a token back that ``seal`` covered with the same key.

    Raises: ValueError for anything else.
    """
    mark, _, covered = sealed.partition(".")
    token = text_of(turned(bytes_of(covered), pad(mark, key=key)))
    if not hmac.compare_digest(hash_of(token), mark):
        raise ValueError("This was sealed with another key.")
    return token


def pad(mark: str, *, key: bytes) -> bytes:
    """Return as many bytes as a token has, foreseeable only with the key."""
    return hmac.new(key, mark.encode(), hashlib.sha256).digest()


def turned(data: bytes, by: bytes) -> bytes:
    """Turn the bits of one text of bytes by those of another of the same length.

    Raises: ValueError for another length.
    """
    return bytes(one ^ other for one, other in zip(data, by, strict=True))


def bytes_of(token: str) -> bytes:
    """Return a token's bytes, which its text writes in letters.

    Raises: ValueError for what is no token.
    Source: RFC 4648, section 5.
    """
    return urlsafe_b64decode(token + "=" * (-len(token) % 4))


def text_of(data: bytes) -> str:
    """Write bytes in letters that may stand in an address."""
    return urlsafe_b64encode(data).decode().rstrip("=")
