"""Bringing in a table of varieties."""

from math import ceil

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base.models import Person
from fraginv.base.rules.problems import TableErrors
from fraginv.base.tables import read_table
from fraginv.stock.loading.varieties import columns, load
from fraginv.stock.models import Variety
from tests.factories import make_variety


def bring(text: str, *, by: Person, dry_run: bool = False) -> int:
    return load(read_table(text.encode(), columns=columns()), by=by, dry_run=dry_run).rows


def test_names_alone_take_the_group_of_their_genus(manager: Person) -> None:
    table = "name,genus\nHarbour Lantern,Acropora\nPier Moss,zoanthus\n"
    assert bring(table, by=manager, dry_run=True) == 2
    assert not Variety.objects.exists()
    assert bring(table, by=manager) == 2
    assert list(Variety.objects.values_list("name", "genus__name", "group")) == [
        ("Harbour Lantern", "Acropora", "SPS"),
        ("Pier Moss", "Zoanthus", "zoanthid"),
    ]


def test_all_columns_in_any_order(manager: Person) -> None:
    table = "note,species,group,genus,name\nshy,digitata,LPS,Montipora,Low Tide Ember\n"
    bring(table, by=manager)
    found = Variety.objects.get()
    assert (found.species, found.group, found.note) == ("digitata", "LPS", "shy")


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("New,Acropra\n", "line 2, genus: “Acropra” is not in the table of genera"),
        ("New,Acropora\nnew,Acropora\n", "line 3, name: new stands on line 2 already"),
        ("OLD ONE,Acropora\n", "line 2, name: there is a variety OLD ONE already"),
        (",Acropora\n", "line 2, name: the cell is empty"),
        ("=1+1,Acropora\n", "line 2, name: =1+1 starts like a formula"),
        (f"{'n' * 81},Acropora\n", "line 2, name: The text has 81 characters; at most 80"),
    ],
    ids=["genus", "twice", "taken", "empty", "formula", "long"],
)
def test_one_bad_row_keeps_the_good_ones_out(manager: Person, rows: str, said: str) -> None:
    make_variety(manager, name="Old One")
    with pytest.raises(TableErrors) as told:
        bring(f"name,genus\n{rows}Good,Acropora\n", by=manager)
    assert said in told.value.message
    assert Variety.objects.count() == 1


def test_every_bad_row_is_named(manager: Person) -> None:
    with pytest.raises(TableErrors) as told:
        bring("name,genus\nA,Nope\nB,Acropora\nb,Nope\n", by=manager)
    assert [(one.line, one.column) for one in told.value.problems] == [
        (2, "genus"),
        (4, "name"),
        (4, "genus"),
    ]


def test_queries_do_not_grow_with_the_rows(
    manager: Person, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    rows = "".join(f"Variety {number},Acropora\n" for number in range(450))
    # SQLite takes 999 values in one statement, PostgreSQL all of them: 450 varieties without
    # their ids, and 1,350 words of three values. What is there is read in two statements.
    columns = len(Variety._meta.concrete_fields) - 1
    most = 2 + ceil(450 / (999 // columns)) + ceil(1350 / (999 // 3))
    with django_assert_max_num_queries(most):
        assert bring(f"name,genus\n{rows}", by=manager) == 450


def test_the_rule_when_frags_are_ready_comes_along(manager: Person) -> None:
    table = (
        "name,genus,care,heal_days,ready_days,see_days,ready_size,ready_heads\n"
        "Low Tide Ember,Zoanthus,Medium light,10,35,7,m,4\n"
    )
    bring(table, by=manager)
    found = Variety.objects.get()
    assert (found.heal_days, found.ready_days, found.see_days) == (10, 35, 7)
    assert (found.ready_size, found.ready_heads, found.care) == ("M", 4, "Medium light")
    with pytest.raises(TableErrors, match="line 2, heal_days: 0 is not from 1 to 3650"):
        bring(table.replace("Low", "High").replace(",10,", ",0,"), by=manager)
