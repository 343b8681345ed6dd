"""Writes that are done once however often they are sent, and numbers without gaps."""

from datetime import timedelta
from uuid import uuid4

import pytest

from fraginv.base import clock
from fraginv.base.actions.founding import add_party
from fraginv.base.actions.keeping import (
    answer_once,
    next_number,
    next_numbers,
    prune_replay_keys,
)
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import NumberSeries, Party, Person, ReplayKey
from fraginv.base.queries.replays import known_answer
from fraginv.base.rules.roles import Role
from fraginv.base.transactions import one_transaction
from tests.conftest import People
from tests.refusing import refused
from tests.together import together

SENT = {"name": ["Ines Varga"], "path": "/parties/add"}


def once(key: str, *, by: Person, name: str = "Ines Varga") -> str:
    """Write a party down under a replay key."""

    def do() -> str:
        return f"/parties/{add_party(name).pk}"

    return answer_once(key, by=by, sent={**SENT, "name": [name]}, do=do)


def test_the_same_again_gives_the_same_answer(seller: Person) -> None:
    key = str(uuid4())
    first = once(key, by=seller)
    assert first == f"/parties/{Party.objects.get().pk}"
    assert once(key, by=seller) == first
    assert Party.objects.count() == ReplayKey.objects.count() == 1


def test_keys_are_forgotten_after_ninety_days(seller: Person) -> None:
    old, new, day = str(uuid4()), str(uuid4()), timedelta(days=1)
    now = clock.now()
    with clock.at(now - 91 * day):
        once(old, by=seller)
    with clock.at(now - 89 * day):
        once(new, by=seller)
    assert prune_replay_keys() == 1
    assert [str(row.key) for row in ReplayKey.objects.all()] == [new]


def test_the_key_is_known_in_any_spelling(seller: Person) -> None:
    key = uuid4()
    first = once(str(key), by=seller)
    assert once(key.hex.upper(), by=seller) == first
    assert Party.objects.count() == 1


def test_another_key_is_another_write(seller: Person) -> None:
    assert once(str(uuid4()), by=seller) != once(str(uuid4()), by=seller)
    assert Party.objects.count() == 2


def test_the_order_of_what_was_sent_is_nothing_new(seller: Person) -> None:
    key = str(uuid4())
    first = answer_once(key, by=seller, sent={"a": 1, "b": [2]}, do=lambda: "/one")
    assert answer_once(key, by=seller, sent={"b": [2], "a": 1}, do=lambda: "/two") == first


def test_a_key_used_for_other_content_is_refused(seller: Person) -> None:
    key = str(uuid4())
    once(key, by=seller)
    with refused("sent before with other content", error=Conflict):
        once(key, by=seller, name="Rosalind Peck")
    assert Party.objects.get().name == "Ines Varga"


def test_a_key_used_by_somebody_else_is_refused(people: People, seller: Person) -> None:
    key = str(uuid4())
    once(key, by=seller)
    with refused("sent before by somebody else, and only that is done", error=Conflict):
        once(key, by=people[Role.MANAGER])
    assert Party.objects.count() == 1


@pytest.mark.parametrize("key", ["", "one", "7K3-Q9F-N", "0" * 31])
def test_what_is_no_key_is_refused(seller: Person, key: str) -> None:
    with refused("came without its key", error=InputError):
        once(key, by=seller)
    assert not Party.objects.exists()


def test_a_failure_leaves_no_key_and_the_next_try_works(seller: Person) -> None:
    key = str(uuid4())
    with refused("A name is needed", error=InputError):
        once(key, by=seller, name=" ")
    assert not ReplayKey.objects.exists()
    assert known_answer(key, by=seller, sent=SENT) is None
    once(key, by=seller)
    assert Party.objects.count() == 1


def test_a_failure_outside_a_test_s_transaction_leaves_nothing(
    transactional_db: None, people: People
) -> None:
    def write_and_fail() -> str:
        add_party("Ines Varga")
        raise InputError("the second half could not be written")

    with pytest.raises(InputError, match="second half"):
        answer_once(str(uuid4()), by=people[Role.SELLER], sent=SENT, do=write_and_fail)
    assert not ReplayKey.objects.exists()
    assert not Party.objects.exists()


def test_the_same_key_many_times_at_once_is_done_once(
    transactional_db: None, people: People
) -> None:
    key = str(uuid4())
    answers = together(lambda _: once(key, by=people[Role.SELLER]), on=range(6))
    assert Party.objects.count() == ReplayKey.objects.count() == 1
    assert set(answers) == {f"/parties/{Party.objects.get().pk}"}


def test_numbers_taken_at_once_have_no_gap_where_one_was_given_back(
    transactional_db: None,
) -> None:
    @one_transaction
    def take(writer: int, turn: int) -> int:
        number = next_number("S", year=2026)
        if (writer + turn) % 3 == 0:
            raise InputError(f"{number} could not be used")
        return number

    def take_some(writer: int) -> list[int]:
        taken = []
        for turn in range(9):
            try:
                taken.append(take(writer, turn))
            except InputError:
                continue
        return taken

    came = together(take_some, on=range(6))
    numbers = sorted(number for part in came if isinstance(part, list) for number in part)
    assert numbers == list(range(1, 6 * 6 + 1))
    assert NumberSeries.objects.get().last == 36


def test_runs_of_numbers_taken_at_once_do_not_overlap(transactional_db: None) -> None:
    years = [2026, 2025, 2026, 2026]
    came = together(lambda _: next_numbers("S", years=years), on=range(5))
    assert all(isinstance(part, list) for part in came), came
    runs = [part for part in came if isinstance(part, list)]
    old = sorted(part[1] for part in runs)
    new = sorted(number for part in runs for number in (part[0], *part[2:]))
    assert old == list(range(1, 6))
    assert new == list(range(1, 16))
    for part in runs:
        assert part[2:] == [part[0] + 1, part[0] + 2]
