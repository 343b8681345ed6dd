"""Who may open what: the one table, enforced by the middleware beside it.

A page that is not listed here is refused to everybody. ``PUBLIC`` is anybody,
``SIGNED_IN`` anybody with a role; a right stands for the roles that have it
in ``fraginv.base.rules.roles``.
"""

from collections.abc import Mapping
from typing import Final, Literal

from fraginv.base.rules.roles import Right

PUBLIC: Final = "public"
SIGNED_IN: Final = "signed in"

Need = Right | Literal["public", "signed in"]

ACCESS: Mapping[str, Mapping[str, Need]] = {
    # front
    "front:sign_in": {"GET": PUBLIC, "POST": PUBLIC},
    "front:sign_out": {"POST": SIGNED_IN},
    "front:today": {"GET": SIGNED_IN},
    "front:find": {"GET": SIGNED_IN},
    "front:code": {"GET": PUBLIC},
    # stock
    # growth
    "growth:add_photo": {"GET": Right.FILE_PHOTO, "POST": Right.FILE_PHOTO},
    "growth:photo": {"GET": PUBLIC},
    # labels
    # ledger
    # trade
    # costs
    # sheets
    # reports
}
