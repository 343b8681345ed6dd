"""Several threads at one database, each with a connection of its own."""

from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from django.db import connections

from fraginv.base.errors import FraginvError

A = TypeVar("A")
R = TypeVar("R")


def together(work: Callable[[A], R], *, on: Iterable[A]) -> list[R | FraginvError]:
    """Do some work at the same time on each of several things.

    Returns: what came of each, or the refusal that it met; any other error is raised.
    """

    def alone(one: A) -> R | FraginvError:
        try:
            return work(one)
        except FraginvError as refusal:
            return refusal
        finally:
            connections.close_all()

    each = list(on)
    with ThreadPoolExecutor(len(each)) as pool:
        return list(pool.map(alone, each))
