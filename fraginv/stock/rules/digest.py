"""A mark on each event by which a later change of it shows."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from hashlib import blake2b
from typing import Any


@dataclass(frozen=True)
class Written:
    """An event as it was written: all that its digest is made over."""

    frag: int
    seq: int
    kind: str
    at: datetime
    recorded_at: datetime
    day: date
    month: int
    by: int
    body: Mapping[str, Any]


def digest_of(event: Written) -> str:
    """Return 32 hexadecimal digits (BLAKE2b, RFC 7693) over an event's content."""
    content = [
        event.frag,
        event.seq,
        event.kind,
        event.at.astimezone(UTC).isoformat(),
        event.recorded_at.astimezone(UTC).isoformat(),
        event.day.isoformat(),
        event.month,
        event.by,
        event.body,
    ]
    text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return blake2b(text.encode("ascii"), digest_size=16).hexdigest()
