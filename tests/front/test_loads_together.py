"""Two people bring in the same table, or tables that clash, at one moment."""

from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.actions.uploads import keep_upload, throw_away
from fraginv.base.errors import Conflict, FraginvError, Gone
from fraginv.base.models import Code, OldCode, Person, TableLoad, Upload
from fraginv.base.queries.files import storage_for
from fraginv.base.queries.uploads import upload_name
from fraginv.base.rules.loads import LoadResult
from fraginv.base.rules.problems import TableErrors
from fraginv.base.rules.roles import Role
from fraginv.base.rules.typed_days import DayOrder
from fraginv.costs.models import Bill
from fraginv.front.load_kinds import KINDS
from fraginv.front.loads import bring_in, bring_in_upload, look, read
from fraginv.front.queries.differences import differences
from fraginv.stock.models import Frag
from fraginv.trade.models import Customer
from tests.conftest import People
from tests.factories import make_variety
from tests.together import together

pytestmark = pytest.mark.django_db(transaction=True)

COSTS = b"day,kind,amount\n2026-01-05,Power,420.00\n2026-01-09,Salt,88.50\n"


def costs_waiting(by: Person) -> Upload:
    """Let a table of costs wait."""
    looked = look(KINDS["costs"], COSTS, days=DayOrder.YEAR_FIRST, by=by)
    return keep_upload(
        COSTS, kind="costs", name="costs.csv", days=DayOrder.YEAR_FIRST, looked=looked, by=by
    )


def bring(kind: str, data: bytes, by: Person) -> LoadResult:
    return bring_in(read(KINDS[kind], data, days=DayOrder.YEAR_FIRST), name=kind, by=by)


def crew(people: People) -> list[Person]:
    return [people[Role.MANAGER], people[Role.OWNER]] * 2


def refusals(found: list[LoadResult | FraginvError]) -> list[FraginvError]:
    return [one for one in found if isinstance(one, FraginvError)]


def test_the_same_rows_come_in_once(people: People) -> None:
    found = together(lambda by: bring("costs", COSTS, by), on=crew(people))
    assert [type(one) for one in refusals(found)] == [Conflict] * 3
    assert "These very rows were brought in" in refusals(found)[0].message
    assert Bill.objects.count() == 2
    assert TableLoad.objects.count() == 1
    assert not [*differences()]


def test_one_label_goes_to_one_frag(people: People) -> None:
    make_variety(people[Role.MANAGER], name="Pier Moss")
    label = issue_blank_run(1)[0].code
    tables = [f"variety,code,note\nPier Moss,{label},{n}\n".encode() for n in range(3)]
    by = people[Role.MANAGER]
    found = together(lambda data: bring("frags", data, by), on=tables)
    assert len(refusals(found)) == 2
    assert Frag.objects.get().code_id == label
    assert Code.objects.get(pk=label).kind == "frag"
    assert not [*differences()]


def test_customers_of_one_name_are_one(people: People) -> None:
    tables = [f"name,kind,note\nSaltmarsh Corals,shop,{n}\n".encode() for n in range(3)]
    found = together(lambda data: bring("customers", data, people[Role.OWNER]), on=tables)
    assert [type(one) for one in refusals(found)] == [TableErrors] * 2
    assert "Saltmarsh Corals is a customer already" in refusals(found)[0].message
    assert Customer.objects.count() == 1


def test_an_old_code_is_on_one_thing(people: People) -> None:
    make_variety(people[Role.MANAGER], name="Pier Moss")
    tables = [f"variety,old_code,note\nPier Moss,P 1,{n}\n".encode() for n in range(3)]
    found = together(lambda data: bring("frags", data, people[Role.OWNER]), on=tables)
    assert len(refusals(found)) == 2
    assert OldCode.objects.count() == Frag.objects.count() == 1


@pytest.mark.parametrize("work", ["brought in twice", "thrown away meanwhile"])
def test_a_table_that_waits_is_taken_once(people: People, work: str) -> None:
    by = people[Role.MANAGER]
    upload = costs_waiting(by)

    def bring_it(number: int) -> object:
        if number and work == "thrown away meanwhile":
            return throw_away(upload, by=by)
        found = read(KINDS["costs"], COSTS, days=DayOrder.YEAR_FIRST)
        return bring_in_upload(upload, found=found, by=by, knowingly=True)

    (refusal,) = [one for one in together(bring_it, on=range(2)) if isinstance(one, FraginvError)]
    assert isinstance(refusal, Gone)
    assert "was brought in or thrown away" in refusal.message
    assert Bill.objects.count() == 2 * TableLoad.objects.count()
    assert TableLoad.objects.count() == 1 or work == "thrown away meanwhile"
    assert not Upload.objects.exists()
    assert not storage_for(private=True).exists(upload_name(upload))


def test_the_page_says_that_a_table_was_brought_in_meanwhile(
    people: People, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    by = people[Role.MANAGER]
    client.force_login(by)
    upload = costs_waiting(by)

    def meanwhile(upload: Upload) -> bytes:
        throw_away(upload, by=by)
        return COSTS

    monkeypatch.setattr("fraginv.front.views.load.read_upload", meanwhile)
    path = reverse("front:load_waiting", args=[upload.pk])
    answer = client.post(path, {"replay_key": str(uuid4()), "knowingly": "on"})
    assert answer.status_code == 404
    assert "was brought in or thrown away" in answer.content.decode()
    assert not Bill.objects.exists()
