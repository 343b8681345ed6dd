"""Pages on which colonies are written down, changed, barred, and leave."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from fraginv.base.models import Party
from fraginv.base.queries.organisation import today
from fraginv.base.rules.roles import Role
from fraginv.stock.actions.bars import bar_colony
from fraginv.stock.actions.claims import hold_frag
from fraginv.stock.models import Bar, Colony, ColonyPaper, Frag
from fraginv.stock.rules.holds import ClaimKind
from tests.base.test_documents import make_pdf
from tests.base.test_pictures import make_picture
from tests.conftest import People
from tests.factories import make_colony, make_frag, make_rack, make_variety

ClientFor = Callable[[Role | None], Client]


def key() -> dict[str, str]:
    """Return a fresh replay key as a form sends it."""
    return {"replay_key": str(uuid4())}


@pytest.fixture
def colony(people: People) -> Colony:
    """A colony of a genus that CITES lists, cut here."""
    grower = people[Role.GROWER]
    return make_colony(grower, variety=make_variety(grower, species="millepora"))


def path(colony: Colony, what: str) -> str:
    """Return the address of what is done to a colony."""
    return f"/stock/colonies/{colony.code_id}/{what}"


def facts(**more: Any) -> dict[str, Any]:
    """Return what a colony's form sends at least."""
    start = {"origin": "bought", "acquired_on": today().isoformat(), "rest_days": 30}
    return start | more | key()


def test_a_grower_writes_down_papers_and_no_terms(client_for: ClientFor, colony: Colony) -> None:
    client = client_for(Role.GROWER)
    page = client.get(path(colony, "change")).content.decode()
    assert "no legal statement" in page
    assert 'name="owner"' not in page
    sent = facts(supplier="Saltmarsh Corals", permit="P 9", source_code="F", owner="Orla Finch")
    answer = client.post(path(colony, "change"), sent, follow=True)
    text = answer.content.decode()
    assert "Saltmarsh Corals is new" in text
    row = Colony.objects.get(pk=colony.pk)
    assert (row.origin, row.permit, row.source_code, row.owner) == ("bought", "P 9", "F", None)
    assert row.supplier is not None
    assert row.supplier.name == "Saltmarsh Corals"
    assert "P 9" in text
    assert "Changed: origin (was cut here)" in text


def test_only_a_manager_sees_and_sets_terms(client_for: ClientFor, colony: Colony) -> None:
    manager = client_for(Role.MANAGER)
    sent = facts(owner="Orla Finch", owner_percent="40", owner_least="15.00", most_pieces="9")
    assert manager.post(path(colony, "change"), sent).status_code == 303
    row = Colony.objects.get(pk=colony.pk)
    assert (row.owner_share, row.owner_least, row.most_pieces) == (4000, 1500, 9)
    assert "40% of what its frags bring" in manager.get(f"/T/{colony.code_id}").content.decode()
    assert 'value="15.00"' in manager.get(path(colony, "change")).content.decode()
    grower = client_for(Role.GROWER).get(f"/T/{colony.code_id}").content.decode()
    assert "Orla Finch" in grower
    assert "40%" not in grower
    assert client_for(Role.GROWER).post(path(colony, "change"), facts()).status_code == 303
    assert Colony.objects.get(pk=colony.pk).owner_share == 4000


def test_two_at_once_do_not_undo_each_other(client_for: ClientFor, colony: Colony) -> None:
    client = client_for(Role.GROWER)
    last = {"last": str(colony.events.get().pk)}
    assert client.post(path(colony, "change"), facts(permit="P 1") | last).status_code == 303
    late = client.post(path(colony, "change"), facts(permit="P 2") | last)
    assert late.status_code == 400
    assert "Somebody else has changed this colony" in late.content.decode()
    assert Colony.objects.get(pk=colony.pk).permit == "P 1"


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"origin": "found"}, "Select a valid choice"),
        ({"acquired_on": "2999-01-01"}, "has not come yet"),
        ({"most_pieces": "0"}, "write a number from 1"),
        ({"owner_percent": "101", "owner": "Orla Finch"}, "100"),
        ({"owner_percent": "50"}, "Say who owns the colony"),
        ({"owner": "Orla Finch", "owner_least": "x"}, "x"),
    ],
)
def test_what_cannot_be_is_said(
    client_for: ClientFor, colony: Colony, more: dict[str, str], said: str
) -> None:
    answer = client_for(Role.OWNER).post(path(colony, "change"), facts(**more))
    assert answer.status_code == 400
    assert said in answer.content.decode()
    assert not Party.objects.exists()


def test_a_missing_paper_is_shown_once_and_settled_in_two_ways(
    client_for: ClientFor, colony: Colony
) -> None:
    client = client_for(Role.GROWER)
    client.post(path(colony, "change"), facts())
    page = client.get(f"/T/{colony.code_id}").content.decode()
    assert "No paper of its origin" in page
    assert path(colony, "papers/add") in page
    sent = {"because": "given in 1989, before papers were asked for"} | key()
    assert client.post(path(colony, "no-paper"), sent).status_code == 303
    page = client.get(f"/T/{colony.code_id}").content.decode()
    assert "No paper of its origin" not in page
    assert "given in 1989" in page


def test_a_paper_is_for_those_who_may_change_colonies(
    client_for: ClientFor, colony: Colony
) -> None:
    client = client_for(Role.GROWER)
    sent = {"title": "invoice", "paper": SimpleUploadedFile("x.exe", make_pdf())} | key()
    assert client.post(path(colony, "papers/add"), sent).status_code == 303
    paper = ColonyPaper.objects.get()
    answer = client.get(f"/stock/colonies/papers/{paper.pk}")
    assert answer.content == make_pdf()
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"].startswith("attachment; filename=")
    assert "sandbox" in answer["Content-Security-Policy"]
    assert answer["Cache-Control"] == "private, no-store"
    assert answer["X-Content-Type-Options"] == "nosniff"
    for role in (Role.SELLER, Role.READER):
        assert client_for(role).get(f"/stock/colonies/papers/{paper.pk}").status_code == 403
    assert client_for(None).get(f"/stock/colonies/papers/{paper.pk}").status_code == 302
    assert client.get("/stock/colonies/papers/999999").status_code == 404
    seller = client_for(Role.SELLER).get(f"/T/{colony.code_id}").content.decode()
    assert "papers/" not in seller


def test_a_photo_of_a_paper_is_drawn_anew(client_for: ClientFor, colony: Colony) -> None:
    client = client_for(Role.GROWER)
    sent = {"title": "permit", "paper": SimpleUploadedFile("x.jpg", make_picture())} | key()
    assert client.post(path(colony, "papers/add"), sent).status_code == 303
    answer = client.get(f"/stock/colonies/papers/{ColonyPaper.objects.get().pk}")
    assert (answer["Content-Type"], answer.content[:2]) == ("image/jpeg", b"\xff\xd8")


def test_files_that_are_none_are_refused(client_for: ClientFor, colony: Colony) -> None:
    client = client_for(Role.GROWER)
    sent = {"title": "invoice", "paper": SimpleUploadedFile("x.pdf", b"MZ rest")} | key()
    answer = client.post(path(colony, "papers/add"), sent)
    assert answer.status_code == 400
    assert "no picture" in answer.content.decode()
    assert not ColonyPaper.objects.exists()


def test_a_bar_says_what_it_touches_and_is_lifted_by_the_owner_alone(
    client_for: ClientFor, people: People
) -> None:
    frag = make_frag(people[Role.GROWER], ready=True)
    hold_frag(
        frag.pk, pieces=1, kind=ClaimKind.NAMED, by=people[Role.SELLER], for_name="Ines Varga"
    )
    colony = Colony.objects.get()
    client = client_for(Role.GROWER)
    sent = {"kind": "loan", "because": "on loan until spring"} | key()
    page = client.post(path(colony, "bar"), sent, follow=True).content.decode()
    assert "1 piece put aside cannot be sold now" in page
    assert "Barred: On loan" in page
    assert "/lift" not in page
    assert "its colony is barred" in client.get(f"/T/{frag.code_id}").content.decode()
    bar = Bar.objects.get()
    lift = f"/stock/bars/{bar.pk}/lift"
    for role in (Role.GROWER, Role.SELLER, Role.MANAGER, Role.READER):
        assert client_for(role).get(lift).status_code == 403
        assert client_for(role).post(lift, {"because": "x"} | key()).status_code == 403
    owner = client_for(Role.OWNER)
    assert owner.get(lift).status_code == 200
    assert owner.post(lift, key()).status_code == 400
    page = owner.post(lift, {"because": "back"} | key(), follow=True).content.decode()
    assert "The bar is lifted." in page
    assert owner.get("/stock/bars/999999/lift").status_code == 404


def test_a_lifted_bar_says_that_another_one_holds(client_for: ClientFor, people: People) -> None:
    grower = people[Role.GROWER]
    mother = make_colony(grower)
    frag = make_frag(grower, colony=mother)
    client = client_for(Role.OWNER)
    keep = f"/stock/frags/{frag.code_id}/keep-as-colony"
    assert "Its genus" not in client.get(keep).content.decode()
    client.post(keep, key())
    child = Colony.objects.exclude(pk=mother.pk).get()
    bar_colony(mother, because="held for the customs", by=grower)
    bar = bar_colony(child, because="a study", by=grower)
    page = client.post(f"/stock/bars/{bar.pk}/lift", {"because": "ended"} | key(), follow=True)
    assert "It stays barred: held for the customs" in page.content.decode()
    text = client.get(f"/T/{child.code_id}").content.decode()
    assert "which it descends from" in text
    assert "Kept from a frag of" in text


@pytest.mark.parametrize(
    ("what", "sent", "state", "told"),
    [
        ("died", {"cause": "rtn", "note": "overnight"}, "dead", "Died, RTN"),
        ("given", {"to": "Orla Finch"}, "given", "Given to Orla Finch"),
        ("displayed", {}, "displayed", "Placed in the display"),
        ("whole", {"size": "mini"}, "sold", "Offered whole as"),
    ],
)
def test_ways_of_leaving_and_back(
    client_for: ClientFor,
    people: People,
    colony: Colony,
    what: str,
    sent: dict[str, str],
    state: str,
    told: str,
) -> None:
    client = client_for(Role.GROWER)
    rack = make_rack(people[Role.GROWER])
    Colony.objects.filter(pk=colony.pk).update(rack=rack)
    assert client.get(path(colony, what)).status_code == 200
    if what != "whole":
        sent = sent | {"day": today().isoformat()}
    assert client.post(path(colony, what), sent | key()).status_code == 303
    assert Colony.objects.get(pk=colony.pk).state == state
    page = client.get(f"/T/{colony.code_id}").content.decode()
    assert told in page
    again = client.post(path(colony, what), sent | key())
    assert again.status_code == 400
    assert "has left already" in again.content.decode()
    assert client.get(path(colony, "back")).status_code == 200
    assert client.post(path(colony, "back"), {"because": "a mistake"} | key()).status_code == 303
    row = Colony.objects.get(pk=colony.pk)
    assert (row.state, row.rack) == ("living", rack)
    assert "Back again: a mistake" in client.get(f"/T/{colony.code_id}").content.decode()


def test_a_frag_is_kept_from_its_page(client_for: ClientFor, people: People) -> None:
    frag = make_frag(people[Role.GROWER])
    client = client_for(Role.GROWER)
    keep = f"/stock/frags/{frag.code_id}/keep-as-colony"
    assert keep in client.get(f"/T/{frag.code_id}").content.decode()
    assert "Listed under CITES" in client.get(keep).content.decode()
    page = client.post(keep, {"rest_days": "12"} | key(), follow=True).content.decode()
    assert "Kept as a colony: print its label" in page
    assert "Kept as a colony from" in page
    assert Frag.objects.get(pk=frag.pk).stage == "kept"
    colony = Colony.objects.get(from_frag=frag)
    assert colony.rest_days == 12
    assert f'href="/T/{colony.code_id}"' in client.get(f"/T/{frag.code_id}").content.decode()
    assert client.post(keep, key()).status_code == 400


@pytest.mark.parametrize("what", ["change", "bar", "died", "given", "whole", "back", "no-paper"])
def test_colonies_that_are_not_there(client_for: ClientFor, people: People, what: str) -> None:
    client = client_for(Role.GROWER)
    assert client.get(f"/stock/colonies/7K3Q9FN/{what}").status_code == 404
    assert client.get(f"/stock/colonies/xyz/{what}").status_code == 400
    assert client_for(Role.SELLER).get(f"/stock/colonies/7K3Q9FN/{what}").status_code == 403
    answer = client_for(None).get(f"/stock/colonies/7K3Q9FN/{what}")
    assert answer["Location"].startswith("/sign-in")
