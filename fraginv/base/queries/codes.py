"""Reading codes."""

from fraginv.base.errors import NotFound
from fraginv.base.models import Code
from fraginv.base.rules.codes import show_code


def get_code(code: str) -> Code:
    """Return the row of a code that ``read_code`` has accepted.

    Raises: NotFound when no such code was ever made here.
    Queries: 1.
    """
    found = Code.objects.filter(pk=code).first()
    if found is None:
        raise NotFound(
            f"{show_code(code)} is a well-formed code, but none of ours. "
            "Look at the label again, or find the piece by its place or variety.",
            code=code,
        )
    return found
