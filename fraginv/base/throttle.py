"""Look-ups by strangers: as many as a crowd with phones needs, too few to try codes out.

Each address has an allowance a minute. A hit costs 1 and a miss 10, out of 120.

*An open day.* All visitors of a house stand behind one address of its network. Whoever
walks along a rack, scans, reads and walks on needs some 40 seconds for a label, so 80
people who scan without a pause use up the minute, or 60 of them with three labels among
theirs that are not in use; more people do not fit round the troughs of a plant room. A
code that was read wrong costs no more than a hit: its check character gives it away
before anything is looked up. Pictures cost nothing, for the page that shows them was
paid for.

*Somebody who tries codes out.* Twelve misses a minute are 17,280 a day. Six characters
out of 32, less those whose check character is never used, make some 950 million codes.
With 10,000 labels in use one guess in 95,000 hits: one in five or six days from each
address, and what it opens is what anybody reads who stands before the plug.

*What this does not do.* The counts stand in the memory of each process: with two
processes the true limit lies between once and twice the allowance, and a restart
forgets. An attacker with many addresses has as many allowances. An IPv6 subscriber is
given a network of 2**64 addresses, so the whole /64 counts as one. Against a flood of
requests that cost nothing to ask the reverse proxy must stand in front.
"""

import functools
from collections.abc import Callable
from typing import Concatenate, Final, ParamSpec

from django.core.cache import caches
from django.http import HttpRequest, HttpResponse

from fraginv.base import clock
from fraginv.base.errors import FraginvError
from fraginv.base.models import Person
from fraginv.base.rules.proxies import neighbourhood
from fraginv.base.web import error_page

WINDOW_SECONDS: Final = 60
ALLOWANCE: Final = 120
HIT: Final = 1
MISS: Final = 10
CACHE: Final = "throttle"
NOTHING_THERE: Final = frozenset({404, 410})

P = ParamSpec("P")
View = Callable[Concatenate[HttpRequest, P], HttpResponse]


class TooOften(FraginvError):
    """One address asked for more than its allowance."""

    code = "too_often"
    status = 429


def throttled(*, hit: int = HIT, miss: int = MISS) -> Callable[[View[P]], View[P]]:
    """Let strangers use a view only within their address's allowance; the crew always.

    Args: ``hit`` is what an answer costs, ``miss`` what it costs where there was no such
    thing: status 404 or 410, as an answer or as an error.
    """

    def around(view: View[P]) -> View[P]:
        @functools.wraps(view)
        def guarded(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            if isinstance(request.user, Person):
                return view(request, *args, **kwargs)
            wait = seconds_to_wait(request)
            if wait:
                return too_often(request, wait=wait)
            try:
                response = view(request, *args, **kwargs)
            except FraginvError as error:
                spend(request, miss if error.status in NOTHING_THERE else hit)
                raise
            spend(request, miss if response.status_code in NOTHING_THERE else hit)
            return response

        return guarded

    return around


def seconds_to_wait(request: HttpRequest) -> int:
    """Return how long an address must wait for its next look-up: 0 while it may go on."""
    if caches[CACHE].get(key_of(request), 0) < ALLOWANCE:
        return 0
    return WINDOW_SECONDS - int(clock.now().timestamp()) % WINDOW_SECONDS


def spend(request: HttpRequest, cost: int) -> None:
    """Take the cost of a look-up off an address's allowance."""
    if not cost:
        return
    key, cache = key_of(request), caches[CACHE]
    if not cache.add(key, cost, timeout=2 * WINDOW_SECONDS):
        try:
            cache.incr(key, cost)
        except ValueError:  # it was put out of the cache just now
            cache.set(key, cost, timeout=2 * WINDOW_SECONDS)


def key_of(request: HttpRequest) -> str:
    """Return under which name this minute's look-ups of an address are counted."""
    window = int(clock.now().timestamp()) // WINDOW_SECONDS
    asker = neighbourhood(request.META.get("REMOTE_ADDR", "")) or "unknown"
    return f"{asker}@{window}"


def too_often(request: HttpRequest, *, wait: int) -> HttpResponse:
    """Answer with a page that says when to come again."""
    error = TooOften(
        "Very many pages were opened from this network within one minute. "
        f"Wait {wait} seconds and open it again."
    )
    response = error_page(request, error)
    response["Retry-After"] = str(wait)
    return response
