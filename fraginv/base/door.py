"""How much may be sent with one request: asked before anything of it is read.

Django reads exactly as many bytes as Content-Length says, never more, so the header
alone decides; what comes after them is no part of the request. A body in portions
(``Transfer-Encoding: chunked``) says nothing of its length. No browser sends a form
that way, so it is refused unread (RFC 9110, section 15.5.12) instead of being counted.

What is taken in is parsed from the stream, files of more than 2.5 MB into a temporary
file that ends with the request. What is refused is neither parsed nor kept. A browser
reads the answer only after it has sent everything, so from the crew somewhat too much
is read and dropped piece by piece; from anybody else, and beyond that, gunicorn closes
the connection on what is still coming.

A slow sender holds a thread for as long as it sends. A reverse proxy that buffers
requests keeps such senders out; without one, as in a house's own network, the threads
of FRAGINV_PROCESSES and FRAGINV_THREADS are all there are.
"""

from typing import Final

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from fraginv.base.errors import FraginvError
from fraginv.base.middleware import Watch
from fraginv.base.models import Person
from fraginv.base.rules.pictures import MAX_BYTES
from fraginv.base.web import error_page

MEGABYTE: Final = 1024 * 1024
# One picture at its largest, and the fields beside it.
MOST_WITH_A_FILE: Final = MAX_BYTES + MEGABYTE
# A phone's video instead of a picture, by mistake: its sender is to see what was wrong.
MOST_DROPPED: Final = 200 * MEGABYTE
PIECE: Final = 64 * 1024


class TooLarge(FraginvError):
    """More was sent than is taken in."""

    code = "too_large"
    status = 413


class NoLength(FraginvError):
    """What was sent does not say how long it is."""

    code = "no_length"
    status = 411


class SizeMiddleware(Watch):
    """Refuse what is too large, or does not say how large it is, before it is read."""

    def __call__(self, request: HttpRequest) -> HttpResponse:
        try:
            check_size(request)
        except FraginvError as error:
            if isinstance(request.user, Person) and length_of(request) <= MOST_DROPPED:
                drop(request)
            return error_page(request, error)
        return self.get_response(request)


def check_size(request: HttpRequest) -> None:
    """Refuse a request by its headers.

    Raises: NoLength for a body in portions; TooLarge with the limit.
    """
    if "HTTP_TRANSFER_ENCODING" in request.META:
        raise NoLength(
            "What was sent does not say how large it is, so it was not read. "
            "Send it from a browser; nothing was written."
        )
    limit, size = most_for(request), length_of(request)
    if size > limit:
        # The room for fields beside a file is not told: forms say how large a file may be.
        most = min(limit, MAX_BYTES) // MEGABYTE
        raise TooLarge(
            f"What was sent has {-(-size // MEGABYTE):,} MB; at most {most} MB are "
            "taken at once. Make the file smaller and send it again; nothing was written."
        )


def drop(request: HttpRequest) -> None:
    """Read what was sent to its end without keeping any of it."""
    while request.read(PIECE):
        pass


def most_for(request: HttpRequest) -> int:
    """Return how many bytes a request may bring: more where a file may be in it."""
    if request.content_type == "multipart/form-data":
        return MOST_WITH_A_FILE
    return int(settings.DATA_UPLOAD_MAX_MEMORY_SIZE or 0)


def length_of(request: HttpRequest) -> int:
    """Return how many bytes Django will read, by its own way of reading the header."""
    try:
        return int(request.META.get("CONTENT_LENGTH") or 0)
    except ValueError:
        return 0
