"""Two people bring in the same table, or tables that clash, at one moment."""

import pytest

from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.errors import Conflict, FraginvError
from fraginv.base.models import Code, OldCode, Person, TableLoad
from fraginv.base.rules.loads import LoadResult
from fraginv.base.rules.problems import TableErrors
from fraginv.base.rules.roles import Role
from fraginv.base.rules.typed_days import DayOrder
from fraginv.costs.models import Bill
from fraginv.front.load_kinds import KINDS
from fraginv.front.loads import bring_in, read
from fraginv.front.queries.differences import differences
from fraginv.stock.models import Frag
from fraginv.trade.models import Customer
from tests.conftest import People
from tests.factories import make_variety
from tests.together import together

pytestmark = pytest.mark.django_db(transaction=True)

COSTS = b"day,kind,amount\n2026-01-05,Power,420.00\n2026-01-09,Salt,88.50\n"


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
