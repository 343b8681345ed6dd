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
    # people
    "people:sign_in": {"GET": PUBLIC, "POST": PUBLIC},
    "people:sign_out": {"POST": SIGNED_IN},
    "people:second": {"GET": PUBLIC, "POST": PUBLIC},
    "people:change": {"GET": PUBLIC, "POST": PUBLIC},
    "people:take": {"GET": PUBLIC, "POST": PUBLIC},
    "people:forget": {"POST": PUBLIC},
    "people:accept": {"GET": PUBLIC, "POST": PUBLIC},
    "people:me": {"GET": SIGNED_IN},
    "people:password": {"GET": SIGNED_IN, "POST": SIGNED_IN},
    "people:leave": {"POST": SIGNED_IN},
    "people:list": {"GET": Right.MANAGE_PEOPLE},
    "people:invite": {"GET": Right.MANAGE_PEOPLE, "POST": Right.MANAGE_PEOPLE},
    "people:renew": {"POST": Right.MANAGE_PEOPLE},
    "people:withdraw": {"POST": Right.MANAGE_PEOPLE},
    "people:person": {"GET": Right.MANAGE_PEOPLE, "POST": Right.MANAGE_PEOPLE},
    "people:reset": {"POST": Right.MANAGE_PEOPLE},
    "people:put_out": {"POST": Right.MANAGE_PEOPLE},
    "people:let_in": {"POST": Right.MANAGE_PEOPLE},
    "people:end_visits": {"POST": Right.MANAGE_PEOPLE},
    "people:take_factor": {"POST": Right.MANAGE_PEOPLE},
    "people:pin": {"GET": SIGNED_IN, "POST": SIGNED_IN},
    "people:pin_off": {"POST": SIGNED_IN},
    "people:factor": {"GET": SIGNED_IN, "POST": SIGNED_IN},
    "people:factor_key": {"GET": SIGNED_IN, "POST": SIGNED_IN},
    "people:factor_codes": {"GET": SIGNED_IN, "POST": SIGNED_IN},
    "people:factor_off": {"GET": SIGNED_IN, "POST": SIGNED_IN},
    "people:factor_later": {"POST": SIGNED_IN},
    # front
    "front:begin": {"GET": PUBLIC, "POST": PUBLIC},
    "front:organisation": {"GET": Right.RUN_HOUSE, "POST": Right.RUN_HOUSE},
    "front:today": {"GET": SIGNED_IN},
    "front:find": {"GET": SIGNED_IN},
    "front:answers": {"GET": SIGNED_IN},
    "front:code": {"GET": PUBLIC},
    "front:frags": {"GET": Right.SEE_STOCK},
    "front:colonies": {"GET": Right.SEE_STOCK},
    "front:cutting": {"GET": Right.SEE_STOCK},
    "front:scan": {"GET": Right.SEE_STOCK},
    "front:scan_look": {"GET": Right.SEE_STOCK},
    "front:scan_frame": {"POST": Right.SEE_STOCK},
    "front:scan_done": {"GET": Right.SEE_STOCK},
    "front:scan_seen": {"POST": Right.GRADE},
    "front:scan_move": {"POST": Right.PLACE},
    "front:scan_ready": {"POST": Right.GRADE},
    "front:scan_unready": {"POST": Right.GRADE},
    "front:scan_lose": {"POST": Right.RECORD_LOSS},
    "front:scan_unlose": {"POST": Right.RECORD_LOSS},
    "front:load": {"GET": Right.LOAD_TABLES},
    "front:load_kind": {"GET": Right.LOAD_TABLES, "POST": Right.LOAD_TABLES},
    "front:load_blank": {"GET": Right.LOAD_TABLES},
    "front:load_waiting": {"GET": Right.LOAD_TABLES, "POST": Right.LOAD_TABLES},
    "front:load_throw": {"POST": Right.LOAD_TABLES},
    "front:load_done": {"GET": Right.LOAD_TABLES},
    "front:load_codes": {"GET": Right.LOAD_TABLES},
    # upkeep
    "upkeep:house": {"GET": Right.RUN_HOUSE},
    "upkeep:back_up": {"POST": Right.RUN_HOUSE},
    "upkeep:tasks": {"GET": Right.RUN_HOUSE},
    "upkeep:task_again": {"POST": Right.RUN_HOUSE},
    "upkeep:task_put_away": {"POST": Right.RUN_HOUSE},
    "upkeep:health": {"GET": PUBLIC},
    # stock
    "stock:cut": {"GET": Right.CUT, "POST": Right.CUT},
    "stock:grade": {"GET": Right.GRADE, "POST": Right.GRADE},
    "stock:healed": {"GET": Right.GRADE, "POST": Right.GRADE},
    "stock:not_ready": {"GET": Right.GRADE, "POST": Right.GRADE},
    "stock:place": {"GET": Right.PLACE, "POST": Right.PLACE},
    "stock:lose": {"GET": Right.RECORD_LOSS, "POST": Right.RECORD_LOSS},
    "stock:set_apart": {"GET": Right.GRADE, "POST": Right.GRADE},
    "stock:quarantine": {"GET": Right.GRADE, "POST": Right.GRADE},
    "stock:release": {"GET": Right.GRADE, "POST": Right.GRADE},
    "stock:keep_back": {"GET": Right.GRADE, "POST": Right.GRADE},
    "stock:variety_add": {"GET": Right.ADD_STOCK, "POST": Right.ADD_STOCK},
    "stock:colony_add": {"GET": Right.ADD_STOCK, "POST": Right.ADD_STOCK},
    "stock:places": {"GET": Right.SEE_STOCK},
    "stock:system_add": {"GET": Right.ADD_STOCK, "POST": Right.ADD_STOCK},
    "stock:trough_add": {"GET": Right.ADD_STOCK, "POST": Right.ADD_STOCK},
    "stock:rack_add": {"GET": Right.ADD_STOCK, "POST": Right.ADD_STOCK},
    # growth
    "growth:add_photo": {"GET": Right.FILE_PHOTO, "POST": Right.FILE_PHOTO},
    "growth:photo": {"GET": PUBLIC},
    # labels
    "labels:print": {"GET": Right.PRINT_LABELS, "POST": Right.PRINT_LABELS},
    "labels:blank": {"GET": Right.PRINT_LABELS, "POST": Right.PRINT_LABELS},
    "labels:run": {"GET": Right.PRINT_LABELS},
    # ledger
    "ledger:journal": {"GET": Right.SEE_MONEY},
    "ledger:entry": {"GET": Right.SEE_MONEY},
    # trade
    "trade:prices": {"GET": Right.SEE_PRICES},
    "trade:price_set": {"GET": Right.SET_PRICES, "POST": Right.SET_PRICES},
    "trade:tax_set": {"GET": Right.SET_TAX, "POST": Right.SET_TAX},
    "trade:customers": {"GET": Right.SEE_CUSTOMERS},
    "trade:customer_add": {"GET": Right.EDIT_CUSTOMERS, "POST": Right.EDIT_CUSTOMERS},
    "trade:customer": {"GET": Right.SEE_CUSTOMERS},
    "trade:certificate_set": {"GET": Right.EDIT_CUSTOMERS, "POST": Right.EDIT_CUSTOMERS},
    "trade:hold": {"GET": Right.HOLD, "POST": Right.HOLD},
    "trade:let_go": {"POST": Right.HOLD},
    "trade:sell": {"GET": Right.SELL, "POST": Right.SELL},
    "trade:sales": {"GET": Right.SEE_PAPERS},
    "trade:sale": {"GET": Right.SEE_PAPERS},
    "trade:receipt": {"GET": Right.SEE_PAPERS},
    "trade:pay": {"GET": Right.SELL, "POST": Right.SELL},
    "trade:credit": {"GET": Right.CREDIT, "POST": Right.CREDIT},
    # costs
    "costs:bills": {"GET": Right.SEE_MONEY},
    "costs:bill": {"GET": Right.SEE_MONEY},
    "costs:bill_add": {"GET": Right.ENTER_COSTS, "POST": Right.ENTER_COSTS},
    "costs:bill_pay": {"GET": Right.ENTER_COSTS, "POST": Right.ENTER_COSTS},
    # sheets
    "sheets:sheet": {"GET": Right.SEE_PRICES},
    "sheets:pdf": {"GET": Right.SEE_PRICES},
    # reports
    "reports:latest": {"GET": Right.SEE_MONEY},
    "reports:month": {"GET": Right.SEE_MONEY},
    "reports:month_pdf": {"GET": Right.SEE_MONEY},
    "reports:month_csv": {"GET": Right.SEE_MONEY},
    "reports:month_xlsx": {"GET": Right.SEE_MONEY},
}
