"""Scans as phones send them, for tests."""

from itertools import islice, product
from typing import Any
from uuid import uuid4

from django.test import Client

from fraginv.base.models import Code
from fraginv.base.rules.codes import ALPHABET, check_character
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


def end_alike(frags: list[Frag], *, end: str = "9FN") -> list[str]:
    """Give frags codes that end alike, which chance does too rarely; return them in order."""
    payloads = ("".join(four) + end[:2] for four in product(ALPHABET, repeat=4))
    fitting = (six for six in payloads if check_character(six) == end[2])
    codes = [six + end[2] for six in islice(fitting, len(frags))]
    for frag, code in zip(frags, codes, strict=True):
        made = Code.objects.create(code=code, kind=Code.Kind.FRAG, made_at=frag.code.made_at)
        Frag.objects.filter(pk=frag.pk).update(code=made)
    return codes
