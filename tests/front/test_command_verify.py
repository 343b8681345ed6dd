"""``verify`` names what does not agree; faults are planted past the actions."""

import json
from collections.abc import Callable
from datetime import date
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.db.models import F

from fraginv.base.models import Tally
from fraginv.base.queries.files import kept_names, missing_names, storage_for
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.costs.actions import add_bill
from fraginv.costs.rules import BillItem
from fraginv.growth.actions.photos import file_photo
from fraginv.growth.models import Photo
from fraginv.stock.models import Frag, FragEvent
from fraginv.trade.models import Sale
from tests.base.test_pictures import make_picture
from tests.conftest import People
from tests.trade.rows import open_shop


@pytest.fixture
def frag(people: People) -> Frag:
    """A lot of which some were sold, with a photo; a bill was entered as well."""
    shop = open_shop(people)
    lot = shop.priced_lot(30)
    shop.sell(lot, 3, paid=500)
    file_photo(lot, data=make_picture(), by=people[Role.GROWER])
    add_bill([BillItem("Power", 4200)], day=date(2026, 1, 5), by=people[Role.MANAGER])
    return lot


def run(*arguments: str) -> tuple[str, str]:
    """Run the command; return what it prints and what it fails with."""
    out = StringIO()
    try:
        call_command("verify", *arguments, stdout=out)
    except CommandError as error:
        return out.getvalue(), f"{error.returncode}: {error}"
    return out.getvalue(), ""


def verify() -> list[str]:
    """Return what the command finds, each in words."""
    printed, failed = run("--json")
    found = json.loads(printed)["differences"]
    many = "One difference" if len(found) == 1 else f"{len(found)} differences"
    assert failed == (f"1: {many} found." if found else "")
    return [f"{one['where']}: {one['what']}" for one in found]


def test_everything_agrees(frag: Frag) -> None:
    assert run() == ("Everything agrees.\n", "")
    assert verify() == []


def change_event(frag: Frag) -> None:
    FragEvent.objects.filter(frag=frag, kind="graded").update(body={"size": "L"})


def drop_event(frag: Frag) -> None:
    FragEvent.objects.filter(frag=frag, kind="graded").delete()


def change_free(frag: Frag) -> None:
    Frag.objects.filter(pk=frag.pk).update(free=F("free") - 1)


def change_total(frag: Frag) -> None:
    table = Sale._meta.db_table
    with connection.cursor() as cursor:  # the actions and the model refuse it
        cursor.execute(f"UPDATE {table} SET tax = tax + 100, total = total + 100")


def lose_photo(frag: Frag) -> None:
    file = Photo.objects.get(frag=frag).file
    name = kept_names(file.sha256, media_type=file.media_type)[0]
    storage_for(private=file.private).delete(name)
    assert list(missing_names(file)) == [name]


def drop_photo_row(frag: Frag) -> None:
    Photo.objects.filter(frag=frag).delete()


def cut_photo(frag: Frag) -> None:
    file = Photo.objects.get(frag=frag).file
    name = kept_names(file.sha256, media_type=file.media_type)[0]
    with storage_for(private=file.private).open(name, "wb") as handle:
        handle.truncate(0)
    assert not list(missing_names(file))


PLANTED: list[tuple[Callable[[Frag], None], str]] = [
    (change_event, "event 2 (graded) was changed after it was written"),
    (drop_event, "its events are not numbered 1 to"),
    (change_free, "free is 26, its events say 27"),
    (change_total, "says net 3000 and tax 288, its lines add up to net 3000 and tax 188"),
    (lose_photo, "missing in the storage"),
    (drop_photo_row, "was taken, and it has no such photo"),
    (cut_photo, "not as it was kept: "),
]


@pytest.mark.parametrize(("plant", "named"), PLANTED, ids=[plant.__name__ for plant, _ in PLANTED])
def test_planted_fault_is_named(frag: Frag, plant: Callable[[Frag], None], named: str) -> None:
    plant(frag)
    found = verify()
    assert any(named in one for one in found), found
    if plant not in {change_total}:
        assert any(show_code(frag.code_id) in one for one in found), found


def test_faults_are_told_in_words_too(frag: Frag) -> None:
    change_free(frag)
    printed, failed = run()
    code = show_code(frag.code_id)
    assert printed.splitlines() == [
        f"{code}: free is 26, its events say 27",
        f"{code}: free is 26 of 27 pieces, and holds have 0",
    ]
    assert failed == "1: 2 differences found."


def test_sums_that_were_changed_by_hand_are_added_up_anew(frag: Frag) -> None:
    right = sorted(Tally.objects.exclude(amount=0).values_list("month", "name", "amount"))
    assert right
    Tally.objects.update(amount=7)
    Tally.objects.create(month=0, name="planted", amount=3)
    assert "differences found" in run()[1]
    assert run("--recount")[1] == ""
    kept = Tally.objects.exclude(amount=0).values_list("month", "name", "amount")
    assert sorted(kept) == right
