"""What is kept of a secret that was drawn at random."""

import hashlib


def hash_of(token: str) -> str:
    """Return what is kept of a token: from it, nobody finds the token.

    A plain hash is enough, because a token holds 256 bits.

    Source: OWASP ASVS 5.0, 6.5.2 (112 bits and more).
    """
    return hashlib.sha256(token.encode()).hexdigest()
