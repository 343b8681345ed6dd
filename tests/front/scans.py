"""Scans as phones send them, for tests."""

from typing import Any
from uuid import uuid4

from django.test import Client

from fraginv.stock.models import Frag, FragEvent

JSON = {"accept": "application/json"}


def sent(client: Client, act: str, code: str, **more: Any) -> Any:
    """Send one scan as a phone does, under a key of its own unless one is given."""
    fields = {"code": code, "replay_key": str(uuid4())} | more
    return client.post(f"/scan/{act}", fields, headers=JSON)


def told(answer: Any, status: int = 200) -> Any:
    """Return what a phone is told, after a look at the status."""
    assert answer.status_code == status, answer.content.decode()[:400]
    assert answer["Content-Type"] == "application/json"
    return answer.json()


def kinds(frag: Frag) -> list[str]:
    """Return the kinds of a frag's events, the first one first."""
    return list(FragEvent.objects.filter(frag=frag).order_by("seq").values_list("kind", flat=True))


def last_event(frag: Frag) -> FragEvent:
    """Return what happened to a frag last."""
    return FragEvent.objects.filter(frag=frag).order_by("seq").latest("seq")
