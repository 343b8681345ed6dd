"""The written table of roles and rights, row by row."""

import pytest

from fraginv.base.rules.roles import READING, RIGHT_TEXTS, RIGHTS, Right, Role, can

# Who may do what, written out a second time and by hand: a change of the table has to
# be meant. One letter a role: grower, seller, manager, owner, reader.
TABLE = {
    "see_stock": "G S M O R",
    "add_stock": "G - M O -",
    "cut": "G - M O -",
    "grade": "G - M O -",
    "place": "G - M O -",
    "record_loss": "G - M O -",
    "give": "G S M O -",
    "log_water": "G - M O -",
    "stop_sale": "G S M O -",
    "end_stop": "- - M O -",
    "release_early": "- - M O -",
    "compare_crew": "- - M O -",
    "print_labels": "G S M O -",
    "file_photo": "G S M O -",
    "hold": "- S M O -",
    "sell": "- S M O -",
    "credit": "- S M O -",
    "see_customers": "- S M O R",
    "edit_customers": "- S M O -",
    "see_prices": "- S M O R",
    "set_prices": "- S M O -",
    "price_by_hand": "- - M O -",
    "set_tax": "- - M O -",
    "see_papers": "- S M O R",
    "see_money": "- - M O R",
    "enter_costs": "- - M O -",
    "load_tables": "- - M O -",
    "set_terms": "- - M O -",
    "lift_bar": "- - - O -",
    "manage_people": "- - - O -",
    "run_house": "- - M O -",
}
ROLES = [Role.GROWER, Role.SELLER, Role.MANAGER, Role.OWNER, Role.READER]


@pytest.mark.parametrize(("right", "row"), TABLE.items(), ids=TABLE)
def test_who_has_a_right(right: str, row: str) -> None:
    may = [mark != "-" for mark in row.split()]
    assert [can(role, Right(right)) for role in ROLES] == may


def test_every_right_stands_in_the_table_and_has_words() -> None:
    assert set(TABLE) == {right.value for right in Right} == set(RIGHT_TEXTS)
    assert set(RIGHTS) == set(Role) == set(ROLES)
    assert all(RIGHT_TEXTS.values())


def test_a_reader_writes_nothing() -> None:
    assert RIGHTS[Role.READER] <= READING
    assert all(right.startswith("see_") for right in READING)
    assert {right for right in Right if right.startswith("see_")} == READING


def test_a_role_is_known_by_its_word_and_an_unknown_one_may_nothing() -> None:
    assert can("seller", Right.SELL)
    assert not can("visitor", Right.SEE_STOCK)
    assert not can("", Right.SEE_STOCK)
