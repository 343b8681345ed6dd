"""The page for what nobody expected, and for a database or disk that gave way."""

import errno
import sys
from http import HTTPStatus

from django.core.exceptions import DisallowedHost
from django.db import InterfaceError, InternalError, OperationalError, connection
from django.http import HttpRequest, HttpResponse
from django.template import loader

from fraginv.base.errors import StoreAway
from fraginv.base.rules.trouble import Trouble, Troubles, database_trouble

AGAIN_SECONDS = "10"
DISK = {errno.ENOSPC: Troubles.FULL, errno.EDQUOT: Troubles.FULL, errno.EROFS: Troubles.READ_ONLY}


def server_error(request: HttpRequest) -> HttpResponse:
    """Answer in plain words when a page broke off; Django calls it while it holds the error.

    The page asks the database for nothing, for that may be what is away.
    """
    trouble = trouble_of(sys.exc_info()[1])
    if trouble is None:
        return HttpResponse(loader.render_to_string("500.html"), status=500)
    page = {"trouble": trouble, "wrote": request.method not in {"GET", "HEAD", "OPTIONS"}}
    response = HttpResponse(loader.render_to_string("503.html", page), status=trouble.status)
    if trouble.status == Troubles.AWAY.value.status:
        response["Retry-After"] = AGAIN_SECONDS
    return response


def trouble_of(error: BaseException | None) -> Trouble | None:
    """Return what stopped a page, or None for a fault of ours."""
    if isinstance(error, OperationalError | InterfaceError | InternalError):
        sqlstate = getattr(error.__cause__, "sqlstate", None)
        is_sqlite = connection.vendor == "sqlite"
        return database_trouble(str(error), sqlstate=sqlstate, is_sqlite=is_sqlite)
    if isinstance(error, StoreAway):
        return Troubles.STORE.value
    if isinstance(error, OSError) and error.errno in DISK:
        return DISK[error.errno].value
    return None


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer what could not be read; a name that is none of ours is the likeliest first mistake."""
    is_host = isinstance(exception, DisallowedHost)
    return HttpResponse(
        loader.render_to_string("400.html", {"is_host": is_host}), status=HTTPStatus.BAD_REQUEST
    )
