"""Who did what stands on every event and every paper, and on the pages that show them."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.apps import apps
from django.db import models
from django.db.models.deletion import ProtectedError
from django.test import Client

from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import address_path
from fraginv.base.rules.roles import Role
from fraginv.costs.actions import add_bill
from fraginv.costs.rules import BillItem
from fraginv.growth.actions.photos import file_photo
from fraginv.labels.actions.printing import start_run
from fraginv.ledger.models import Entry
from fraginv.people.actions.crew import deactivate
from fraginv.stock.actions.claims import hold_frag
from fraginv.stock.rules.holds import ClaimKind
from fraginv.trade.actions.credits import credit_sale
from fraginv.trade.rules.asked import CreditItem
from tests.base.papers import texts_of
from tests.base.test_pictures import make_picture
from tests.conftest import People
from tests.factories import make_colony
from tests.reading import words_on
from tests.trade.rows import open_shop

# What somebody does. A new table must be put here or below.
DONE = {
    *("base.ReplayKey", "stock.FragEvent", "stock.Cutting", "stock.Claim"),
    *("growth.Photo", "growth.Batch", "growth.Measurement"),
    *("labels.LostLabel", "labels.RetiredRoll", "labels.OwnStock"),
    *("base.TableLoad", "base.Upload", "stock.Arrival", "stock.ColonyEvent", "stock.ColonyPaper"),
    *("stock.RackCount", "stock.RackEvent", "stock.StopSale", "stock.WaterEntry"),
    *("labels.PrintRun", "ledger.Entry", "trade.Sale", "trade.Credit", "trade.Payment"),
    *("trade.Price", "trade.TaxRate", "costs.Bill", "people.Invitation", "people.CrewEvent"),
}
# A part of something above, which says it.
PARTS = {
    *("labels.PrintedLabel", "ledger.Line", "trade.SaleLine", "trade.CreditLine"),
    *("trade.Taking", "costs.BillLine", "trade.Balance", "base.NumberSeries", "base.Code"),
    *("base.OldCode", "base.PrintedSize", "base.UploadProblem", "stock.Bar", "stock.Loss"),
    "growth.Incoming",
    *("ledger.ChainHead", "base.StoredFile", "stock.Frag", "base.Tally", "base.Word"),
}
# What there is, and no event: things, places, people, parties and lists.
THINGS = {
    *("base.Organisation", "base.Party", "base.Person", "taxa.Genus", "taxa.ProtectedSpecies"),
    *("stock.System", "stock.Trough", "stock.Rack", "stock.Variety", "stock.Colony"),
    *("ledger.Account", "trade.CustomerKind", "trade.Customer", "trade.PaperName"),
    *("labels.Printer", "labels.Adjustment"),
    *("costs.CostKind", "people.Phone", "people.PhonePerson", "people.Pin"),
}
# What the machine does by itself.
MACHINE = {
    *("upkeep.Backup", "upkeep.Beat", "upkeep.Turn", "upkeep.Alarm", "upkeep.Checkup"),
    "growth.VarietyPace",
}


def tables() -> Iterator[type[models.Model]]:
    """List the tables of the house."""
    return (one for one in apps.get_models() if one.__module__.startswith("fraginv."))


def unsigned(table: type[models.Model]) -> str:
    """Say what is wrong with a table's column of who did it, or nothing."""
    found = {field.name: field for field in table._meta.get_fields()}.get("by")
    if not isinstance(found, models.ForeignKey) or found.related_model is not Person:
        return f"{table._meta.label} does not say who did it"
    if found.null:
        return f"{table._meta.label} may leave out who did it"
    if found.remote_field.on_delete is not models.PROTECT:
        return f"{table._meta.label} forgets who did it with the person"
    return ""


def test_every_table_is_sorted() -> None:
    sorted_ones = [*DONE, *PARTS, *THINGS, *MACHINE]
    assert len(sorted_ones) == len(set(sorted_ones))
    assert {table._meta.label for table in tables()} == set(sorted_ones)


def test_events_and_papers_are_signed() -> None:
    signed = [table for table in tables() if table._meta.label in DONE]
    assert [fault for table in signed if (fault := unsigned(table))] == []


def test_planted_tables_without_a_name_are_found() -> None:
    def planted(name: str, **fields: Any) -> type[models.Model]:
        meta = type("Meta", (), {"app_label": "people", "apps": apps.__class__()})
        body = {"__module__": __name__, "Meta": meta, **fields}
        return type(name, (models.Model,), body)

    def by(**options: Any) -> models.ForeignKey[Person, Person]:
        return models.ForeignKey(Person, related_name="+", **options)

    good = planted("Good", by=by(on_delete=models.PROTECT))
    assert unsigned(good) == ""
    for bad, said in [
        (planted("Bare"), "does not say"),
        (planted("Text", by=models.CharField(max_length=9)), "does not say"),
        (planted("Empty", by=by(on_delete=models.PROTECT, null=True)), "may leave out"),
        (planted("Lost", by=by(on_delete=models.CASCADE)), "forgets"),
    ]:
        assert said in unsigned(bad)


NAMES = {
    Role.GROWER: "Ines Varga",
    Role.SELLER: "Joren Aalto",
    Role.MANAGER: "Mira Holt",
}


@pytest.fixture
def names(people: People) -> dict[Role, str]:
    """Give those who do something names that stand nowhere else."""
    for role, name in NAMES.items():
        people[role].name = name
        people[role].save(update_fields=["name"])
    return NAMES


def signed_pages(people: People) -> dict[str, set[str]]:
    """Let everybody do their part; return each page, and the names that it must show."""
    grower, seller, manager = (people[r] for r in (Role.GROWER, Role.SELLER, Role.MANAGER))
    cutter, dealer, boss = grower.name, seller.name, manager.name
    shop = open_shop(people)
    colony = make_colony(grower)
    lot = shop.priced_lot(20, colony=colony)
    file_photo(lot, data=make_picture(), by=grower)
    file_photo(colony, data=make_picture(), by=grower)
    hold_frag(lot.pk, pieces=1, kind=ClaimKind.NAMED, by=seller, for_name="A visitor")
    sale = shop.sell(lot, 3, paid=2000)
    credit_sale(sale.pk, items=[CreditItem(sale.lines.get().pk, 1)], reason="DOA", by=grower)
    bill = add_bill([BillItem("Power", 4200)], day=today(), by=manager, settled="owed").bills[0]
    start_run([lot.code_id], by=grower)
    entry = Entry.objects.get(pk=bill.entry_id)
    return {
        address_path(lot.code_id): {cutter, dealer, boss},
        address_path(colony.code_id): {cutter, boss},
        f"/cuttings/{lot.cutting_id}": {boss},
        f"/photos/of/{lot.code_id}/add": {cutter},
        f"/trade/sales/{sale.pk}": {dealer, cutter},
        f"/trade/sales/{sale.pk}/receipt.pdf": {dealer},
        f"/costs/{bill.pk}": {boss},
        f"/ledger/{entry.year}/{entry.number}": {boss},
        "/labels/": {cutter},
    }


def missing(client: Client, pages: dict[str, set[str]]) -> list[str]:
    """Name each page with the names that it does not show."""
    found = []
    for path, wanted in pages.items():
        answer = client.get(path)
        assert answer.status_code == 200, path
        is_pdf = answer["Content-Type"] == "application/pdf"
        words = " ".join(texts_of(answer.content)) if is_pdf else words_on(answer)
        found += [f"{path}: {name}" for name in sorted(wanted) if name not in words]
    return found


@pytest.mark.usefixtures("names")
def test_pages_and_papers_name_who_did_it(people: People) -> None:
    client = Client()
    client.force_login(people[Role.OWNER])
    pages = signed_pages(people)
    assert missing(client, pages) == []
    # Whoever is put out stays on all of it by name, and cannot be deleted.
    for role in NAMES:
        deactivate(people[role].pk, by=people[Role.OWNER])
        with pytest.raises(ProtectedError):
            people[role].delete()
    assert missing(client, pages) == []
