"""What every command does alike."""

import json
from collections.abc import Mapping
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import OperationalError

from fraginv.base.commands import Answer, PlainCommand
from fraginv.base.errors import Conflict, InputError, NotFound
from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from tests.conftest import People


class Plain(PlainCommand):
    """Answers, or raises, what it was given."""

    def __init__(self, answer: Answer | Exception) -> None:
        super().__init__()
        self.answer = answer

    def work(self, options: Mapping[str, Any]) -> Answer:
        if isinstance(self.answer, Exception):
            raise self.answer
        return self.answer


def run(answer: Answer | Exception, *arguments: str) -> str:
    out = StringIO()
    call_command(Plain(answer), *arguments, stdout=out)
    return out.getvalue()


def test_lines_for_people_or_one_document() -> None:
    answer = Answer(lines=["one", "two"], data={"much": "œuvre"})
    assert run(answer) == "one\ntwo\n"
    assert json.loads(run(answer, "--json")) == {"much": "œuvre"}
    assert run(Answer()) == ""


@pytest.mark.parametrize(
    "error", [InputError("Say why."), Conflict("Say why."), NotFound("Say why.")]
)
def test_expected_errors_are_a_message_and_status_1(error: Exception) -> None:
    with pytest.raises(CommandError, match="^Say why.$") as told:
        run(error, "--json")
    assert told.value.returncode == 1


def test_a_database_that_is_not_set_up_says_what_to_do() -> None:
    with pytest.raises(CommandError, match="no such table: x. .* start --no-serve") as told:
        run(OperationalError("no such table: x"))
    assert told.value.returncode == 1


def test_other_errors_are_not_hidden() -> None:
    with pytest.raises(ZeroDivisionError):
        run(ZeroDivisionError())


def test_an_answer_that_is_no_success_is_still_printed() -> None:
    out = StringIO()
    with pytest.raises(CommandError, match="Two are wrong"):
        call_command(Plain(Answer(["a", "b"], failed="Two are wrong")), stdout=out)
    assert out.getvalue() == "a\nb\n"


def test_misused_options_end_with_status_1(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stopped:
        Plain(Answer()).run_from_argv(["manage.py", "plain", "--nonsense"])
    assert stopped.value.code == 1
    said = capsys.readouterr()
    assert "unrecognized arguments: --nonsense" in said.err
    assert said.out == ""


def test_it_acts_in_the_name_of_the_first_owner_who_may(people: People) -> None:
    assert Plain(Answer()).acting_person() == people[Role.OWNER]
    Person.objects.filter(role="owner").update(is_active=False)
    with pytest.raises(NotFound, match="There is no owner yet"):
        Plain(Answer()).acting_person()
