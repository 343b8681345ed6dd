"""What an action leaves behind to be undone when it fails."""

import pytest

from fraginv.base.errors import InputError
from fraginv.base.transactions import one_transaction, undo_on_failure

pytestmark = pytest.mark.django_db


@one_transaction
def write(done: list[str], *, name: str, fail: bool = False) -> None:
    done.append(name)
    undo_on_failure(lambda: done.remove(name))
    if fail:
        raise InputError(f"{name} failed")


@one_transaction
def write_all(done: list[str], *names: str, fail: bool = False) -> None:
    for name in names:
        write(done, name=name)
    if fail:
        raise InputError("all failed")


def test_what_succeeded_stays() -> None:
    done: list[str] = []
    write_all(done, "a", "b")
    assert done == ["a", "b"]


def test_a_failing_action_is_undone() -> None:
    done: list[str] = []
    with pytest.raises(InputError, match="a failed"):
        write(done, name="a", fail=True)
    assert done == []


def test_what_inner_actions_did_is_undone_when_the_outer_one_fails() -> None:
    done = ["before"]
    with pytest.raises(InputError, match="all failed"):
        write_all(done, "a", "b", fail=True)
    assert done == ["before"]


def test_an_inner_failure_that_the_outer_one_gets_over_is_undone_alone() -> None:
    done: list[str] = []

    @one_transaction
    def get_over_it() -> None:
        write(done, name="a")
        with pytest.raises(InputError):
            write(done, name="b", fail=True)

    get_over_it()
    assert done == ["a"]
