"""Pages on which frags part, grow together, are relabelled, counted, found, dipped and given."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.models import Code, Person
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.actions.moving import place_frags
from fraginv.stock.models import Frag, Loss
from tests.conftest import People
from tests.factories import make_colony, make_frag, make_frags, make_lot, make_rack, make_variety
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]
ONE = ("split", "cut-again", "grown-together", "new-label", "count", "found")
MANY = ("dip", "remount", "give")
NOT_SELLERS = {"split", "cut-again", "grown-together", "count", "found", "dip", "remount"}


def path_of(frag: Frag, act: str) -> str:
    if act in MANY:
        return f"/stock/frags/{act}?codes={frag.code_id}"
    return f"/stock/frags/{frag.code_id}/{act}"


def post(client: Client, frag: Frag, act: str, **fields: Any) -> Any:
    codes = {"codes": frag.code_id} if act in MANY else {}
    sent = {"replay_key": str(uuid4())} | codes | fields
    return client.post(path_of(frag, act).partition("?")[0], sent)


def fresh(frag: Frag) -> Frag:
    return Frag.objects.get(pk=frag.pk)


@pytest.mark.parametrize("act", [*ONE, *MANY])
def test_who_may(client_for: ClientFor, grower: Person, act: str) -> None:
    lot = make_lot(grower, 5)
    wanted = {
        Role.GROWER: 200,
        Role.MANAGER: 200,
        Role.SELLER: 403 if act in NOT_SELLERS else 200,
        Role.READER: 403,
        None: 302,
    }
    told = {role: client_for(role).get(path_of(lot, act)).status_code for role in wanted}
    assert told == wanted


@pytest.mark.parametrize("act", ONE)
def test_a_code_that_is_wrong_or_no_frags(client_for: ClientFor, grower: Person, act: str) -> None:
    client = client_for(Role.GROWER)
    answer = client.get(f"/stock/frags/7K3Q9FX/{act}")
    assert answer.status_code == 400
    assert "is wrong" in words_on(answer)
    rack = make_rack(grower)
    answer = client.get(f"/stock/frags/{rack.code_id}/{act}")
    assert answer.status_code == 404
    assert "is not a frag" in words_on(answer)


@pytest.mark.parametrize("act", [*ONE, *MANY])
def test_pages_ask_few_questions(
    client_for: ClientFor,
    grower: Person,
    django_assert_max_num_queries: DjangoAssertNumQueries,
    act: str,
) -> None:
    colony, rack = make_colony(grower), make_rack(grower)
    lots = [make_lot(grower, 5, colony=colony) for _ in range(4)]
    place_frags([lot.pk for lot in lots], rack=rack, by=grower)
    client = client_for(Role.GROWER)
    with django_assert_max_num_queries(6):
        client.get(path_of(lots[0], act))


def test_one_piece_leaves_for_a_scanned_label(client_for: ClientFor, grower: Person) -> None:
    lot, (label,) = make_lot(grower, 5), issue_blank_run(1)
    client = client_for(Role.GROWER)
    answer = post(client, lot, "split", pieces=1, each="yes", first_code=label.code)
    assert (answer.status_code, answer["Location"]) == (303, f"/T/{label.code}")
    page = client.get(answer["Location"])
    assert f"1 piece has left the lot: {show_code(label.code)}" in words_on(page)
    assert f"Taken from {show_code(lot.code_id)}: 1 piece" in words_on(page)
    whole = words_on(client.get(f"/T/{lot.code_id}"))
    assert f"Parted: 1 piece to {show_code(label.code)}" in whole


def test_labels_of_what_left_are_printed_from_where_it_left(
    client_for: ClientFor, grower: Person
) -> None:
    lot, frag, client = make_lot(grower, 5), make_frag(grower), client_for(Role.GROWER)
    post(client, lot, "split", pieces=3, each="yes")
    post(client, frag, "cut-again", into=2)
    for parent, said in ((lot, "labels of the 3 new frags"), (frag, "label of the 1 new frag")):
        new = Frag.objects.filter(split_from=parent)
        answer = client.get(f"/T/{parent.code_id}")
        assert f"Print the {said}" in words_on(answer)
        link = "&amp;".join(f"codes={one.code_id}" for one in new.order_by("pk"))
        assert f'/labels/?{link}"' in answer.content.decode()
        Code.objects.filter(frag__in=new).update(printed_at=clock.now())
        assert "Print the label" not in words_on(client.get(f"/T/{parent.code_id}"))


def test_a_split_sent_twice_splits_once(client_for: ClientFor, grower: Person) -> None:
    lot, client = make_lot(grower, 5), client_for(Role.GROWER)
    key = str(uuid4())
    for _ in range(2):
        assert post(client, lot, "split", pieces=2, each="no", replay_key=key).status_code == 303
    assert fresh(lot).pieces == 3
    assert Frag.objects.count() == 2


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(
    ("act", "fields", "said"),
    [
        ("split", {"pieces": 5, "each": "yes"}, "from 1 to 4 can leave it"),
        ("split", {"pieces": "x", "each": "yes"}, "Enter a whole number"),
        ("split", {"pieces": 1, "each": "yes", "first_code": "7K3Q9FX"}, "is wrong"),
        ("cut-again", {"into": 2}, "Split off the one that is cut again"),
        ("grown-together", {}, "Pick the other frag, or scan or type its code"),
        ("grown-together", {"other": "7K3Q9FN"}, "is not a frag"),
        ("new-label", {"new_code": "7K3Q9FN"}, "none of ours"),
        ("count", {"pieces": 3}, "Choose a cause"),
        ("count", {"pieces": -3}, "-3 pieces"),
        ("found", {"pieces": 0}, "0 living pieces"),
        ("dip", {"dip": ""}, "This field is required"),
        ("remount", {"medium": "rock"}, "Select a valid choice"),
        ("give", {"why": "sale", "pieces": 1}, "Write the number of the sale"),
        ("give", {"why": "school"}, "write how many of its pieces"),
        ("give", {"why": "school", "pieces": 9}, "9 cannot be given"),
    ],
    ids=str,
)
def test_bad_input_says_why_and_changes_nothing(
    client_for: ClientFor, grower: Person, act: str, fields: dict[str, Any], said: str
) -> None:
    lot = make_lot(grower, 5)
    answer = post(client_for(Role.GROWER), lot, act, **fields)
    assert answer.status_code == 400
    assert said in words_on(answer)
    assert (fresh(lot).pieces, fresh(lot).last_seq) == (5, 1)


def test_cutting_again_shows_the_cautions_of_the_bench(
    client_for: ClientFor, grower: Person
) -> None:
    frag = make_frag(
        grower, colony=make_colony(grower, variety=make_variety(grower, genus="Zoanthus"))
    )
    client = client_for(Role.GROWER)
    text = client.get(path_of(frag, "cut-again")).content.decode()
    before = text[: text.index("Record the cut")]
    # Palytoxin in zoantharians: Hamade et al., CDC MMWR 2015;64(31):852-855.
    assert "palytoxin" in before
    assert "Saws and bone cutters cut" in before
    answer = post(client, frag, "cut-again", into=3, medium="tile")
    assert answer["Location"] == f"/T/{frag.code_id}"
    assert "Cut again, all heal anew" in words_on(client.get(answer["Location"]))
    assert Frag.objects.filter(split_from=frag, new_medium="", medium="tile").count() == 2


def test_the_one_beside_it_is_offered(client_for: ClientFor, grower: Person) -> None:
    colony, rack = make_colony(grower), make_rack(grower)
    one, other, away = make_frags(grower, 3, colony=colony)
    place_frags([one.pk, other.pk], rack=rack, by=grower)
    client = client_for(Role.GROWER)
    text = client.get(path_of(one, "grown-together")).content.decode()
    assert f'value="{other.code_id}"' in text
    assert f'value="{away.code_id}"' not in text
    assert post(client, one, "grown-together", near=other.code_id).status_code == 303
    assert fresh(other).stage == "joined"
    page = words_on(client.get(f"/T/{other.code_id}"))
    assert f"Grown together with {show_code(one.code_id)}, goes on under its code" in page


@pytest.mark.parametrize("reader", [Role.GROWER, None])
def test_the_old_label_leads_to_the_frag(
    client_for: ClientFor, grower: Person, reader: Role | None
) -> None:
    frag, (label,) = make_frag(grower), issue_blank_run(1)
    answer = post(client_for(Role.GROWER), frag, "new-label", new_code=label.code)
    assert answer["Location"] == f"/T/{label.code}"
    client = client_for(reader)
    assert client.get(f"/T/{frag.code_id}")["Location"] == f"/T/{label.code}"
    followed = client.get(f"/T/{frag.code_id}", follow=True)
    assert frag.variety.name in words_on(followed)
    if reader is not None:
        assert f"New label, {show_code(frag.code_id)} before" in words_on(followed)


def test_a_count_says_what_became_of_it(client_for: ClientFor, grower: Person) -> None:
    lot, client = make_lot(grower, 30), client_for(Role.GROWER)
    assert 'value="30"' in client.get(path_of(lot, "count")).content.decode()
    for there, cause, said in [
        (30, "", "The number is right"),
        (28, "fell", "2 pieces written off as lost"),
        (29, "", "1 piece found again"),
    ]:
        post(client, lot, "count", pieces=there, cause=cause)
        assert said in words_on(client.get(f"/T/{lot.code_id}"))
        assert fresh(lot).pieces == there


def test_what_is_lost_offers_that_it_was_found(client_for: ClientFor, people: People) -> None:
    frag = make_frag(people[Role.GROWER])
    record_loss(frag.pk, pieces=1, cause="fell", by=people[Role.GROWER])
    client = client_for(Role.GROWER)
    assert f"/stock/frags/{frag.code_id}/found" in client.get(f"/T/{frag.code_id}").content.decode()
    seller = client_for(Role.SELLER).get(f"/T/{frag.code_id}").content.decode()
    assert f"/stock/frags/{frag.code_id}/found" not in seller
    assert post(client, frag, "found", pieces=1).status_code == 303
    assert fresh(frag).stage == "healing"
    assert Loss.objects.count() == 1


def test_what_a_gift_and_a_colony_come_to_is_said_before_and_after(
    client_for: ClientFor, grower: Person
) -> None:
    client, (gift, kept) = client_for(Role.MANAGER), make_frags(grower, 2)
    page = words_on(client.get(path_of(gift, "give")))
    assert "leaves the stock for good: nothing here takes it back" in page
    given = post(client, gift, "give", why="school")
    assert "is received anew" in words_on(client.get(given["Location"]))
    page = words_on(client.get(path_of(kept, "keep-as-colony")))
    assert "none of them is sold as a frag any more" in page
    colony = post(client, kept, "keep-as-colony")
    page = words_on(client.get(colony["Location"]))
    assert "If that was a mistake, press “Offer it whole” here" in page
    assert page.count("Offer it whole") == 2


def test_many_are_dipped_mounted_and_given(client_for: ClientFor, grower: Person) -> None:
    frags, client = make_frags(grower, 3), client_for(Role.GROWER)
    codes = [frag.code_id for frag in frags]
    for act, fields, said in [
        ("dip", {"dip": "iodine"}, "3 frags dipped in iodine."),
        ("remount", {"medium": "disc"}, "3 frags on a disc now."),
        ("give", {"why": "raffle", "to": "Open day"}, "3 frags given: raffle."),
    ]:
        sent = {"codes": codes, "replay_key": str(uuid4())} | fields
        answer = client.post(f"/stock/frags/{act}", sent)
        assert answer.status_code == 303, words_on(answer)
        assert said in words_on(client.get(answer["Location"]))
    assert {frag.stage for frag in map(fresh, frags)} == {"given"}
    log = words_on(client.get(f"/T/{codes[0]}"))
    for line in ("Dipped: iodine", "Mounted anew, on a disc", "Given to Open day: 1 piece, raffle"):
        assert line in log
