"""Roles and what was done about people, in words."""

from collections.abc import Mapping
from types import MappingProxyType

from fraginv.base.rules.roles import RIGHT_TEXTS, RIGHTS, Right, Role

ROLE_TEXTS: Mapping[Role, str] = MappingProxyType(
    {
        Role.GROWER: "cuts, labels, places, grades, photographs and writes off; sees no money",
        Role.SELLER: "puts pieces aside, sells, takes payments and credits; sets prices",
        Role.MANAGER: "everything but people and bars: also bills, tax, the month and backups",
        Role.OWNER: "everything, people and roles included",
        Role.READER: "for the accountant and the board: sees stock, customers, prices, sales "
        "papers, running costs, the month and the ledger, and changes nothing",
    }
)

EVENT_TEXTS: Mapping[str, str] = MappingProxyType(
    {
        "joined": "came in by an invitation",
        "renamed": "got another name",
        "role": "got another role",
        "address": "got another address",
        "left": "was put out",
        "back": "was let in again",
        "reset": "got a link for a new password",
        "password": "chose a new password",
        "ended": "was signed out everywhere",
        "factor": "has no second step any more",
        "secured": "set the second step up",
        "codes": "made new recovery codes",
        "recovery": "came in by a recovery code",
        "pin": "set a PIN for shared phones",
        "machine": "got a link for a new password, made at the machine itself",
    }
)


def rights_in_words(role: Role) -> list[str]:
    """Return what a role may do, in the order of the table of rights."""
    return [RIGHT_TEXTS[right] for right in Right if right in RIGHTS[role]]
