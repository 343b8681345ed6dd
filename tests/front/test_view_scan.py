"""Scanning over HTTP: what each scan does, what takes it back, and what is refused in words."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base.models import Code, OldCode, Person
from fraginv.base.rules.codes import address, show_code
from fraginv.base.rules.roles import Role
from fraginv.labels.models import LostLabel
from fraginv.stock.actions.care import relabel_frag
from fraginv.stock.actions.grading import grade_frags
from fraginv.stock.actions.looks import mark_wrong
from fraginv.stock.actions.moving import place_frags
from fraginv.stock.models import Frag, Loss, Rack
from fraginv.stock.queries.differences import stock_differences
from tests.factories import make_colony, make_frag, make_frags, make_lot, make_rack, make_variety
from tests.front.scans import JSON, end_alike, kinds, sent, told
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]


@pytest.fixture
def phone(client_for: ClientFor) -> Client:
    """A grower's phone."""
    return client_for(Role.GROWER)


@pytest.mark.parametrize(
    ("role", "expected"),
    [
        (Role.GROWER, ["look", "seen", "move", "ready", "lose", "label"]),
        (Role.MANAGER, ["look", "seen", "move", "ready", "lose", "label"]),
        (Role.SELLER, ["look", "label"]),
        (Role.READER, ["look"]),
    ],
)
def test_the_page_shows_the_acts_of_the_role(
    client_for: ClientFor, role: Role, expected: list[str]
) -> None:
    page = client_for(role).get("/scan?do=lose").content.decode()
    acts = ("look", "seen", "move", "ready", "lose", "label")
    assert [act for act in acts if f'data-scan-act="{act}"' in page] == expected
    chosen = "lose" if "lose" in expected else "look"
    at = page.index(f'data-scan-act="{chosen}"')
    assert page.index('aria-current="true"', at) < page.index("</a>", at)


def test_the_camera_is_allowed_here_alone(phone: Client) -> None:
    assert "camera=(self)" in phone.get("/scan")["Permissions-Policy"]
    assert "camera=()" in phone.get("/frags")["Permissions-Policy"]
    wrong = phone.post("/scan/move", {"code": "", "replay_key": str(uuid4())})
    assert (wrong.status_code, "camera=(self)" in wrong["Permissions-Policy"]) == (400, True)


def test_seen(phone: Client, grower: Person) -> None:
    frag = make_frag(grower)
    answer = told(sent(phone, "seen", address("REEF.TEST", frag.code_id)))
    assert answer == {
        **{"ok": True, "act": "seen", "code": frag.code_id, "shown": show_code(frag.code_id)},
        **{"name": frag.variety.name, "said": "Seen, fine.", "url": f"/T/{frag.code_id}"},
    }
    assert kinds(frag) == ["cut", "inspected"]


def test_move_and_put_back(phone: Client, grower: Person) -> None:
    first, second = make_rack(grower), make_rack(grower)
    frag = make_frag(grower, rack=first)
    place_frags([frag.pk], rack=first, row=2, column=5, by=grower)
    answer = told(sent(phone, "move", frag.code_id, rack=second.code_id))
    assert answer["said"] == f"Stands in {second} now."
    undo = answer["undo"]
    assert undo.pop("label") == f"Put it back to {first}"
    assert undo == {"act": "move", "rack": first.code_id, "row": "2", "column": "5"}
    back = told(sent(phone, undo.pop("act"), frag.code_id, **undo))
    assert back["said"] == f"Stands in {first} now."
    found = Frag.objects.get(pk=frag.pk)
    assert (found.rack, found.hole_row, found.hole_column) == (first, 2, 5)
    assert list(stock_differences()) == []


def test_scanned_into_the_rack_where_it_stands_keeps_its_hole(
    phone: Client, grower: Person
) -> None:
    rack = make_rack(grower)
    frag = make_frag(grower, rack=rack)
    place_frags([frag.pk], rack=rack, row=2, column=5, by=grower)
    answer = told(sent(phone, "move", frag.code_id, rack=rack.code_id))
    assert (answer["said"], "undo" in answer) == (f"It stands in {rack} already.", False)
    assert Frag.objects.get(pk=frag.pk).hole_row == 2
    assert kinds(frag) == ["cut", "placed"]


def test_a_hole_that_was_filled_meanwhile_is_left_to_who_stands_there(
    phone: Client, grower: Person
) -> None:
    first, second = make_rack(grower), make_rack(grower)
    frag, other = make_frags(grower, 2, rack=first)
    place_frags([frag.pk], rack=first, row=2, column=5, by=grower)
    undo = told(sent(phone, "move", frag.code_id, rack=second.code_id))["undo"]
    place_frags([other.pk], rack=first, row=2, column=5, by=grower)
    told(
        sent(
            phone, "move", frag.code_id, **{name: undo[name] for name in ("rack", "row", "column")}
        )
    )
    found = Frag.objects.get(pk=frag.pk)
    assert (found.rack, found.hole_row) == (first, None)
    assert Frag.objects.get(pk=other.pk).hole_row == 2


def test_the_first_place_of_a_frag_has_nothing_to_go_back_to(phone: Client, grower: Person) -> None:
    rack, frag = make_rack(grower), make_frag(grower)
    assert "undo" not in told(sent(phone, "move", frag.code_id, rack=show_code(rack.code_id)))
    assert Frag.objects.get(pk=frag.pk).rack == rack


def test_ready_though_it_is_not_well(phone: Client, grower: Person) -> None:
    frag = make_frag(grower)
    mark_wrong([frag.pk], wrong="pest", by=grower)
    said = told(sent(phone, "ready", frag.code_id, size="M"))["said"]
    assert said == "Ready, size M. Look again before it is sold: not well: pest."


def test_ready_and_not_after_all(phone: Client, grower: Person) -> None:
    frag = make_frag(grower)
    answer = told(sent(phone, "ready", frag.code_id, size="M"))
    assert answer["said"] == "Ready, size M."
    assert answer["undo"] == {"act": "unready", "label": "Not ready after all"}
    assert (
        told(sent(phone, "unready", frag.code_id))["said"] == "Back to growing, and not for sale."
    )
    assert Frag.objects.get(pk=frag.pk).stage == "growing"


def test_another_size_goes_back_to_the_size_before(phone: Client, grower: Person) -> None:
    frag = make_frag(grower, ready=True, size="mini")
    answer = told(sent(phone, "ready", frag.code_id, size="S"))
    assert answer["undo"] == {"act": "ready", "size": "mini", "label": "Back to size Mini-colony"}
    assert "undo" not in told(sent(phone, "ready", frag.code_id, size="S"))


def test_a_loss_and_its_taking_back(phone: Client, grower: Person) -> None:
    frag = make_frag(grower)
    answer = told(sent(phone, "lose", frag.code_id, cause="brown jelly"))
    assert answer["said"] == "1 piece written off: Brown jelly."
    assert Frag.objects.get(pk=frag.pk).stage == "lost"
    undo = answer["undo"]
    assert undo.pop("label") == "Take the loss back"
    assert told(sent(phone, undo["act"], frag.code_id, loss=undo["loss"]))["said"] == (
        "The loss was taken back."
    )
    found = Frag.objects.get(pk=frag.pk)
    assert (found.stage, found.pieces, found.free) == ("healing", 1, 1)
    again = told(sent(phone, "unlose", frag.code_id, loss=undo["loss"]), 409)
    assert again["message"] == "This loss was taken back already."
    assert list(stock_differences()) == []


def test_one_piece_of_a_lot_with_each_scan(phone: Client, grower: Person) -> None:
    lot, other = make_lot(grower, 3), make_frag(grower)
    for left in (2, 1):
        said = told(sent(phone, "lose", lot.code_id, cause="fell"))["said"]
        assert said == f"1 piece written off: Fell. {left} left of this lot."
    assert Frag.objects.get(pk=lot.pk).pieces == 1
    assert Loss.objects.filter(frag=lot).count() == 2
    loss = Loss.objects.filter(frag=lot).latest("pk")
    foreign = told(sent(phone, "unlose", other.code_id, loss=loss.pk), 409)
    assert "has no such loss" in foreign["message"]
    assert not Loss.objects.get(pk=loss.pk).undone


def test_a_lost_label_is_noted_once_and_taken_back(
    client_for: ClientFor, phone: Client, grower: Person
) -> None:
    rack, frag = make_rack(grower), make_frag(grower)
    for code in (frag.code_id, rack.code_id):
        answer = told(sent(phone, "label", code))
        assert answer["said"] == "Label lost: it waits on the list to be printed anew."
        assert answer["undo"] == {"act": "unlabel", "label": "The label is there"}
    again = told(sent(client_for(Role.SELLER), "label", frag.code_id[-3:]))
    assert (again["said"], "undo" in again) == ("Its label was noted as lost already.", False)
    waiting = LostLabel.objects.filter(settled_at__isnull=True)
    assert set(waiting.values_list("code", flat=True)) == {frag.code_id, rack.code_id}
    told(sent(phone, "unlabel", rack.code_id))
    assert waiting.count() == 1
    assert kinds(frag) == ["cut"]


@pytest.mark.parametrize(
    ("act", "more", "words"),
    [
        ("move", {}, "Scan the rack first, or choose it."),
        ("move", {"rack": "7K3-Q9F-X"}, "A character in 7K3-Q9F-X is wrong"),
        ("move", {"rack": "7K3-Q9F-N"}, "7K3-Q9F-N is not a rack."),
        ("lose", {}, "Choose the cause first, then scan."),
        ("lose", {"cause": "spite"}, "Choose the cause first, then scan."),
        ("ready", {"size": "XXL"}, "Choose the size first, then scan."),
        ("seen", {"code": ""}, "Type or scan a code."),
        ("seen", {"code": "7K3-Q9F-X"}, "A character in 7K3-Q9F-X is wrong"),
        ("seen", {"code": "7K3-Q9F-N"}, "none of ours"),
        ("seen", {"code": "7K3Q"}, "A code has 7 characters"),
        ("seen", {"code": "ZZZ"}, "Nothing that lives here ends in ZZZ."),
        ("seen", {"replay_key": "none"}, "came without its key"),
        ("unlose", {"loss": "x"}, "There is no such loss."),
    ],
)
def test_what_cannot_be_read_is_refused_in_words(
    phone: Client, grower: Person, act: str, more: dict[str, str], words: str
) -> None:
    frag = make_frag(grower)
    fields = {"code": frag.code_id} | more
    answer = sent(phone, act, **fields)
    assert answer.status_code in {400, 404}
    assert words in answer.json()["message"]
    assert kinds(frag) == ["cut"]


def test_what_is_no_frag_says_what_it_is(phone: Client, grower: Person) -> None:
    rack, colony = make_rack(grower), make_colony(grower)
    blank = make_frag(grower).code
    Code.objects.filter(pk=blank.pk).update(kind=Code.Kind.BLANK)
    Frag.objects.filter(code=blank).update(code=Code.objects.create(
        code="7K3Q9FN", kind=Code.Kind.FRAG, made_at=blank.made_at
    ))  # fmt: skip
    said = [
        told(sent(phone, "seen", code), 400)["message"].partition(" is ")[2]
        for code in (rack.code_id, colony.code_id, blank.pk)
    ]
    assert said == [
        "a rack. Scan a frag.",
        "a colony. Open it to see what can be done with it.",
        "not in use yet: its label was printed ahead. Scan a frag.",
    ]


def test_what_the_stock_refuses_is_said(phone: Client, grower: Person) -> None:
    frag, held = make_frag(grower), make_frag(grower, ready=True)
    sent(phone, "lose", frag.code_id, cause="fell")
    dead = told(sent(phone, "move", frag.code_id, rack=make_rack(grower).code_id), 409)
    assert dead["message"].startswith(show_code(frag.code_id))
    assert "lost" in dead["message"]
    water = make_rack(grower, quarantine=True)
    other = told(sent(phone, "move", held.code_id, rack=water.code_id), 409)
    assert "is quarantine" in other["message"]


def test_the_end_of_a_code_is_enough_where_one_frag_has_it(phone: Client, grower: Person) -> None:
    frag = make_frag(grower)
    assert told(sent(phone, "seen", f" {frag.code_id[-3:].lower()} "))["code"] == frag.code_id
    sent(phone, "lose", frag.code_id, cause="fell")
    gone = told(sent(phone, "seen", frag.code_id[-3:]), 404)
    assert "Type the whole code" in gone["message"]


def test_several_that_end_alike_are_offered(phone: Client, grower: Person) -> None:
    rack = make_rack(grower)
    one = make_frag(grower, colony=make_colony(grower, variety=make_variety(grower, name="Moss")))
    two = make_frag(
        grower, colony=make_colony(grower, variety=make_variety(grower, name="Ember")), rack=rack
    )
    first, second = end_alike([one, two])
    answer = told(sent(phone, "seen", "9fn"), 409)
    assert (answer["code"], answer["message"]) == (
        "several",
        "9FN may mean more than one thing. Tap the right one.",
    )
    assert answer["choices"] == [
        {"code": first, "shown": show_code(first), "name": "Moss", "place": "not placed"},
        {"code": second, "shown": show_code(second), "name": "Ember", "place": str(rack)},
    ]
    assert kinds(one) == kinds(two) == ["cut"]


def test_an_old_code_means_its_frag(phone: Client, grower: Person) -> None:
    frag, other = make_frags(grower, 2)
    OldCode.objects.create(code=frag.code, text="A-17 b", folded="A17B")
    assert told(sent(phone, "seen", "a17-B"))["code"] == frag.code_id
    OldCode.objects.create(code=other.code, text="a17b", folded="A17B")
    assert told(sent(phone, "seen", "A17B"), 409)["code"] == "several"


def test_looking_up(phone: Client, grower: Person) -> None:
    rack = make_rack(grower)
    lot = make_lot(grower, 4, rack=rack)
    grade_frags([lot.pk], size="L", by=grower)
    said = {}
    for code in (lot.code_id, rack.code_id, lot.colony.code_id if lot.colony else ""):
        answer = told(phone.get("/scan/look", {"code": code}, headers=JSON))
        said[answer["name"]] = answer["said"]
    assert said == {
        lot.variety.name: "A colony, living.",
        str(rack): "A rack in Display: 1 frag, 6 rows of 10 holes.",
    }
    frag = told(phone.get("/scan/look", {"code": lot.code_id}, headers=JSON))
    assert frag["said"] == f"Ready, size L, 4 pieces; in {rack}."
    assert told(phone.get("/scan/look", {"code": "7K3-Q9F-N"}, headers=JSON), 404)


def test_without_a_script_one_form_after_another(phone: Client, grower: Person) -> None:
    first, second = make_rack(grower), make_rack(grower)
    frag = make_frag(grower, rack=first)
    form = {"code": frag.code_id, "rack": second.code_id, "replay_key": str(uuid4())}
    done = phone.post("/scan/move", form, follow=True)
    assert done.redirect_chain[-1] == (f"/scan?do=move&rack={second.code_id}", 302)
    page = words_on(done)
    assert f"{frag.variety.name}: Stands in {second} now." in page
    bad = phone.post("/scan/move", form | {"code": "nonsense", "replay_key": str(uuid4())})
    page = bad.content.decode()
    assert (bad.status_code, "A code has 7 characters" in page) == (400, True)
    assert f'value="{second.code_id}" data-name="{second}" selected' in page
    looked = phone.get("/scan/look", {"code": frag.code_id})
    assert (looked.status_code, looked["Location"]) == (302, f"/find?q={frag.code_id}")


# The six questions: it works (above), a wrong role, nobody, a bad id, a missing id, a reader.
ACTS = ("seen", "move", "ready", "unready", "lose", "unlose")


@pytest.mark.parametrize("act", ACTS)
@pytest.mark.parametrize("role", [Role.SELLER, Role.READER])
def test_a_role_without_the_right_is_refused(
    client_for: ClientFor, grower: Person, act: str, role: Role
) -> None:
    frag = make_frag(grower)
    answer = told(sent(client_for(role), act, frag.code_id), 403)
    assert answer["code"] == "not_allowed"
    assert f"Your role, {role}, does not cover this." in answer["message"]
    assert kinds(frag) == ["cut"]


@pytest.mark.parametrize("act", [*ACTS, "label", "unlabel", "frame"])
def test_nobody_is_told_to_sign_in(client_for: ClientFor, act: str) -> None:
    stranger = client_for(None)
    assert told(sent(stranger, act, "7K3-Q9F-N"), 401)["code"] == "sign_in"
    assert stranger.post(f"/scan/{act}").status_code == 302
    for page in ("/scan", "/scan/look?code=x", "/scan/done"):
        assert stranger.get(page)["Location"].startswith("/sign-in?")


def test_what_no_scan_left_is_told_so(phone: Client) -> None:
    for query in ("", "?do=dance&code=7K3Q9FN", "?do=seen", "?do=seen&code=7K3Q9FX"):
        assert phone.get(f"/scan/done{query}", headers=JSON).status_code in {400, 404}


def test_pages_and_scans_ask_as_much_for_many_as_for_one(
    phone: Client, grower: Person, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    racks: list[Rack] = []
    for count in (1, 10):
        racks += [make_rack(grower) for _ in range(count)]
        first, *rest = make_frags(grower, count, rack=racks[0])
        with django_assert_max_num_queries(4):
            phone.get("/scan?do=move")
        with django_assert_max_num_queries(6):
            phone.get("/scan/look", {"code": first.code_id}, headers=JSON)
        with django_assert_max_num_queries(19):
            sent(phone, "move", first.code_id, rack=racks[-1].code_id)
        assert len(rest) == count - 1


def test_the_code_that_a_frag_had_before_and_what_is_wrong(phone: Client, grower: Person) -> None:
    frag = make_frag(grower)
    mark_wrong([frag.pk], wrong="bleaching", by=grower)
    now = relabel_frag(frag.pk, by=grower).code_id
    answer = phone.get(f"/scan/look?code={frag.code_id}", headers=JSON)
    assert answer.status_code == 200
    assert "not well: bleaching" in answer.json()["said"]
    seen = sent(phone, "seen", frag.code_id)
    assert seen.status_code == 200, seen.content
    assert Frag.objects.get(pk=frag.pk).code_id == now
    assert Frag.objects.get(pk=frag.pk).wrong == ""
