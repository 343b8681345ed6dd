"""Who may do what: the one written table of roles and rights."""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType


class Role(StrEnum):
    """What a person is to the organisation."""

    GROWER = "grower"
    SELLER = "seller"
    MANAGER = "manager"
    OWNER = "owner"
    READER = "reader"


class Right(StrEnum):
    """One thing that a person may be allowed to do."""

    SEE_STOCK = "see_stock"
    ADD_STOCK = "add_stock"
    CUT = "cut"
    GRADE = "grade"
    PLACE = "place"
    RECORD_LOSS = "record_loss"
    GIVE = "give"
    LOG_WATER = "log_water"
    STOP_SALE = "stop_sale"
    END_STOP = "end_stop"
    RELEASE_EARLY = "release_early"
    COMPARE_CREW = "compare_crew"
    PRINT_LABELS = "print_labels"
    FILE_PHOTO = "file_photo"
    HOLD = "hold"
    SELL = "sell"
    CREDIT = "credit"
    SEE_CUSTOMERS = "see_customers"
    EDIT_CUSTOMERS = "edit_customers"
    SEE_PRICES = "see_prices"
    SET_PRICES = "set_prices"
    PRICE_BY_HAND = "price_by_hand"
    SET_TAX = "set_tax"
    SEE_PAPERS = "see_papers"
    SEE_MONEY = "see_money"
    ENTER_COSTS = "enter_costs"
    LOAD_TABLES = "load_tables"
    SET_TERMS = "set_terms"
    LIFT_BAR = "lift_bar"
    MANAGE_PEOPLE = "manage_people"
    RUN_HOUSE = "run_house"


# What each right lets a person do, to be read as "may ...".
RIGHT_TEXTS: Mapping[Right, str] = MappingProxyType(
    {
        Right.SEE_STOCK: "see varieties, colonies, frags and racks",
        Right.ADD_STOCK: "add varieties, colonies, troughs and racks",
        Right.CUT: "record cuttings and frags that came in",
        Right.GRADE: "grade frags, set them apart, quarantine them or keep them back",
        Right.PLACE: "place frags in racks",
        Right.RECORD_LOSS: "record losses",
        Right.GIVE: "give frags away",
        Right.LOG_WATER: "write down what was measured of the water or done to it",
        Right.STOP_SALE: "stop the sale of what is in one water, or of one colony or kind",
        Right.END_STOP: "end a stop-sale",
        Right.RELEASE_EARLY: "release what has not been in quarantine long enough",
        Right.COMPARE_CREW: "compare losses by tool and by who cut",
        Right.PRINT_LABELS: "print labels",
        Right.FILE_PHOTO: "file photos",
        Right.HOLD: "put pieces aside for someone and let them go",
        Right.SELL: "sell and take payments",
        Right.CREDIT: "credit what was sold",
        Right.SEE_CUSTOMERS: "see customers",
        Right.EDIT_CUSTOMERS: "add and change customers",
        Right.SEE_PRICES: "see prices and availability sheets",
        Right.SET_PRICES: "set prices",
        Right.PRICE_BY_HAND: "sell one thing at another price than is set",
        Right.SET_TAX: "set tax rates",
        Right.SEE_PAPERS: "see sales, receipts and credits",
        Right.SEE_MONEY: "see running costs, the month and the ledger",
        Right.ENTER_COSTS: "enter and pay bills",
        Right.LOAD_TABLES: "bring in tables",
        Right.SET_TERMS: "see and set on what terms a colony is an owner's",
        Right.LIFT_BAR: "lift a bar from a colony",
        Right.MANAGE_PEOPLE: "add people and change their roles",
        Right.RUN_HOUSE: "see to backups, waiting work and the organisation's settings",
    }
)

# Rights that change nothing: a reader has no others.
READING = frozenset(
    {
        Right.SEE_STOCK,
        Right.SEE_CUSTOMERS,
        Right.SEE_PRICES,
        Right.SEE_PAPERS,
        Right.SEE_MONEY,
    }
)

OWNERS_ONLY = frozenset({Right.LIFT_BAR, Right.MANAGE_PEOPLE})

RIGHTS: Mapping[Role, frozenset[Right]] = MappingProxyType(
    {
        Role.GROWER: frozenset(
            {
                Right.SEE_STOCK,
                Right.ADD_STOCK,
                Right.CUT,
                Right.GRADE,
                Right.PLACE,
                Right.RECORD_LOSS,
                Right.GIVE,
                Right.LOG_WATER,
                Right.STOP_SALE,
                Right.PRINT_LABELS,
                Right.FILE_PHOTO,
            }
        ),
        Role.SELLER: frozenset(
            {
                Right.SEE_STOCK,
                Right.STOP_SALE,
                Right.GIVE,
                Right.PRINT_LABELS,
                Right.FILE_PHOTO,
                Right.HOLD,
                Right.SELL,
                Right.CREDIT,
                Right.SEE_CUSTOMERS,
                Right.EDIT_CUSTOMERS,
                Right.SEE_PRICES,
                Right.SET_PRICES,
                Right.SEE_PAPERS,
            }
        ),
        Role.MANAGER: frozenset(Right) - OWNERS_ONLY,
        Role.OWNER: frozenset(Right),
        Role.READER: READING,
    }
)


def can(role: Role | str, right: Right) -> bool:
    """Tell whether a role has a right; a role that does not exist has none."""
    try:
        return right in RIGHTS[Role(role)]
    except ValueError:
        return False
