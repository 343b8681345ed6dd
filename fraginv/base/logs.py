"""What is logged: one JSON object a line, with nothing in it that is about a person.

A request is told by its method and the pattern of its address, never by the
address itself, which may hold a code or a token; an error by its class and the
places it came through, never by its message, which may hold what was typed.
"""

import json
import logging
import traceback
from collections.abc import Mapping
from contextvars import ContextVar
from datetime import UTC, datetime
from typing import Any

current: ContextVar[Mapping[str, Any] | None] = ContextVar("logged_request", default=None)

# These loggers of Django put the address that was asked for into their messages.
WITH_ADDRESS = ("django.request", "django.security", "django.server")
# The application server puts it into some; its words without what belongs into them will do. What
# it says of a request that it cannot read holds what was sent and from where.
SERVER, UNREADABLE = "gunicorn", "Invalid request"


class JsonFormatter(logging.Formatter):
    """Write a record as one line of JSON."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line."""
        line: dict[str, Any] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "message": message_of(record),
            **(current.get() or {}),
            **getattr(record, "request_done", {}),
        }
        if record.exc_info and record.exc_info[1] is not None:
            line |= told_of(record.exc_info[1])
        return json.dumps(line, ensure_ascii=False, default=str)


class TextFormatter(logging.Formatter):
    """Write a record for somebody who sits at a terminal."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line, and the places of an error below it."""
        done = getattr(record, "request_done", {})
        facts = "".join(f" {name}={value}" for name, value in done.items())
        text = f"{record.levelname} {record.name}: {message_of(record)}{facts}"
        if record.exc_info and record.exc_info[1] is not None:
            told = told_of(record.exc_info[1])
            text = "\n    ".join([f"{text} ({told['error']})", *told["trace"]])
        return text


def message_of(record: logging.LogRecord) -> str:
    """Return a record's message without the address that Django or the server puts into it."""
    if record.name.startswith(WITH_ADDRESS):
        return str(record.args[0]) if record.args and isinstance(record.args, tuple) else "refused"
    if record.name.startswith(SERVER) and not only_numbers(record.args):
        return str(record.msg)
    if record.name.startswith(SERVER) and str(record.msg).startswith(UNREADABLE):
        return UNREADABLE
    return record.getMessage()


def only_numbers(given: object) -> bool:
    """Tell whether what is put into a message is numbers alone, such as those of processes."""
    return isinstance(given, tuple) and all(isinstance(one, int | float) for one in given)


def told_of(error: BaseException) -> dict[str, Any]:
    """Return an error's class, those behind it, and the places it came through, outermost first."""
    places = [
        f"{frame.filename}:{frame.lineno} {frame.name}"
        for frame in traceback.extract_tb(error.__traceback__)
    ]
    behind: list[str] = []
    cause = error.__cause__ or error.__context__
    while cause is not None and len(behind) < 5:
        behind.append(name_of(cause))
        cause = cause.__cause__ or cause.__context__
    return {"error": name_of(error), "behind": behind, "trace": places}


def name_of(error: BaseException) -> str:
    """Return the full name of an error's class."""
    return f"{type(error).__module__}.{type(error).__qualname__}"


def logging_for(level: str, *, at_terminal: bool) -> dict[str, Any]:
    """Return the settings of Python's logging.

    Args: ``level`` is what is logged at least; answered requests are logged unless it is ERROR.
    """
    formatter = "text" if at_terminal else "json"
    quiet = ("weasyprint", "fontTools", "axes", "PIL", "botocore", "urllib3", "s3transfer")
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {
            "text": {"()": "fraginv.base.logs.TextFormatter"},
            "json": {"()": "fraginv.base.logs.JsonFormatter"},
        },
        "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": formatter}},
        "loggers": {
            "django": {"handlers": ["stderr"], "level": "ERROR", "propagate": False},
            # Anybody can ask for a host that is none; the answer's line says that it was refused.
            "django.security.DisallowedHost": {"handlers": [], "propagate": False},
            "gunicorn.error": {"handlers": ["stderr"], "level": "WARNING", "propagate": False},
            "fraginv.access": {"level": "ERROR" if level == "ERROR" else "INFO"},
            **{name: {"level": "ERROR"} for name in quiet},
        },
        "root": {"handlers": ["stderr"], "level": level},
    }
