"""Writing down varieties, colonies and places."""

from datetime import timedelta
from typing import Any

import pytest

from fraginv.base.errors import Conflict, FraginvError, InputError, NotFound
from fraginv.base.models import Code, Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import read_code
from fraginv.base.rules.roles import Role
from fraginv.stock.actions import catalogue, colonies
from fraginv.stock.models import Colony, Rack, System, Trough, Variety
from tests.conftest import People
from tests.factories import make_rack, make_variety
from tests.refusing import refused
from tests.together import together


def test_group_comes_from_the_genus_unless_it_is_given(grower: Person) -> None:
    plain = catalogue.add_variety(" Harbour  Lantern ", genus="acropora", by=grower)
    assert (plain.name, plain.genus.name, plain.group) == ("Harbour Lantern", "Acropora", "SPS")
    told = catalogue.add_variety("Odd One", genus="Acropora", group="lps", by=grower)
    assert told.group == "LPS"


def test_one_name_written_down_by_many_at_once_is_one_variety(
    transactional_db: None, people: People
) -> None:
    def add(genus: str) -> Variety:
        return catalogue.add_variety("Harbour Lantern", genus=genus, by=people[Role.GROWER])

    came = together(add, on=["Acropora"] * 6)
    assert [type(one) for one in came].count(Conflict) == 5
    assert Variety.objects.count() == 1


@pytest.mark.parametrize(
    ("name", "genus", "group", "error", "said"),
    [
        ("  ", "Acropora", "", InputError, "needs a name"),
        ("harbour lantern", "Acropora", "", Conflict, "already"),
        ("New", "Acropra", "", NotFound, "Did you mean Acropora"),
        ("New", "Acropora", "plants", InputError, "There is no group"),
    ],
)
def test_varieties_that_cannot_be(
    grower: Person, name: str, genus: str, group: str, error: type[FraginvError], said: str
) -> None:
    make_variety(grower, name="Harbour Lantern")
    with refused(said, error=error):
        catalogue.add_variety(name, genus=genus, group=group, by=grower)
    assert Variety.objects.count() == 1


def test_colony_gets_a_code_of_its_own(grower: Person) -> None:
    colony = colonies.add_colony(make_variety(grower), by=grower)
    assert read_code(colony.code_id) == colony.code_id
    assert (colony.code.kind, colony.acquired_on) == (Code.Kind.COLONY, today())


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"rest_days": -1}, "-1 days of rest"),
        ({"rest_days": 731}, "731 days of rest"),
        ({"origin": "found"}, "'found' is no origin"),
        ({"acquired_on": "tomorrow"}, "has not come yet"),
    ],
)
def test_colonies_that_cannot_be(grower: Person, fields: dict[str, Any], said: str) -> None:
    variety = make_variety(grower)
    if "acquired_on" in fields:
        fields = {"acquired_on": today() + timedelta(days=1)}
    with refused(said, error=InputError):
        colonies.add_colony(variety, by=grower, **fields)
    assert not Colony.objects.exists()
    assert not Code.objects.exists()


def test_names_of_places_are_taken_once(grower: Person) -> None:
    rack = make_rack(grower, name="Left")
    trough, system = rack.trough, rack.trough.system
    with refused("There is a system DISPLAY here already", error=Conflict):
        catalogue.add_system("DISPLAY", by=grower)
    with refused("There is a trough A here already", error=Conflict):
        catalogue.add_trough(system, name="A", by=grower)
    with refused("There is a rack left here already", error=Conflict):
        catalogue.add_rack(trough, name="left", rows=1, columns=1, by=grower)
    with refused("needs a name", error=InputError):
        catalogue.add_rack(trough, name=" ", rows=1, columns=1, by=grower)
    with refused("0 by 5 holes", error=InputError):
        catalogue.add_rack(trough, name="Right", rows=0, columns=5, by=grower)
    assert (System.objects.count(), Trough.objects.count(), Rack.objects.count()) == (1, 1, 1)
    assert Code.objects.count() == 1
