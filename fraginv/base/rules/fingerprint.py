"""Telling whether two writes say the same."""

import hashlib
import json
from collections.abc import Mapping


def fingerprint(sent: Mapping[str, object]) -> str:
    """Return the SHA-256 of what was sent, independent of the order of its fields."""
    text = json.dumps(sent, sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()
