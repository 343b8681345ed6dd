"""Labels that are lost: noted, printed anew, found again."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import IntegrityError, transaction
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.errors import FraginvError, InputError, NotFound
from fraginv.base.models import OldCode, Person
from fraginv.base.rules.codes import CodeError, show_code
from fraginv.labels.actions.lost import mark_label_found, mark_label_lost
from fraginv.labels.actions.printing import print_again, start_run
from fraginv.labels.models import LostLabel
from fraginv.labels.queries.lost import lost_codes, lost_count, lost_page
from fraginv.labels.queries.runs import run_codes
from fraginv.stock.actions.care import relabel_frag
from tests.factories import make_colony, make_frags, make_rack


def waiting() -> list[str]:
    """Return the codes on the list."""
    return lost_codes(most=100)


def test_lost_labels_wait_in_the_order_in_which_they_were_noted(grower: Person) -> None:
    frags = make_frags(grower, 3)
    rack = make_rack(grower)
    assert mark_label_lost([show_code(frags[2].code_id).lower()], by=grower) == [frags[2].code_id]
    assert mark_label_lost([f"HTTPS://REEF.TEST/T/{rack.code_id}"], by=grower) == [rack.code_id]
    assert waiting() == [frags[2].code_id, rack.code_id]
    assert lost_count() == 2


def test_what_is_noted_twice_stands_there_once(grower: Person) -> None:
    one, two = (frag.code_id for frag in make_frags(grower, 2))
    mark_label_lost([one, one], by=grower)
    assert mark_label_lost([one, two, two], by=grower) == [two]
    assert waiting() == [one, two]


def test_the_table_holds_one_waiting_row_for_a_code(grower: Person) -> None:
    (frag,) = make_frags(grower, 1)
    mark_label_lost([frag.code_id], by=grower)
    with pytest.raises(IntegrityError), transaction.atomic():
        LostLabel.objects.create(code=frag.code, noted_at=clock.now(), by=grower)


def test_a_print_run_clears_what_it_prints_and_nothing_else(grower: Person) -> None:
    one, two = (frag.code_id for frag in make_frags(grower, 2))
    mark_label_lost([one, two], by=grower)
    run = start_run([one], by=grower)
    assert waiting() == [two]
    settled = LostLabel.objects.get(code=one)
    assert (settled.run, settled.settled_at) == (run, run.at)
    assert LostLabel.objects.get(code=two).run is None


def test_printing_a_run_again_clears_them_too(grower: Person) -> None:
    codes = [frag.code_id for frag in make_frags(grower, 3)]
    run = start_run(codes, by=grower)
    mark_label_lost(codes, by=grower)
    print_again(run.pk, first=2, by=grower)
    assert waiting() == codes[:1]


def test_a_label_can_be_lost_again_after_it_was_printed(grower: Person) -> None:
    (code,) = (frag.code_id for frag in make_frags(grower, 1))
    mark_label_lost([code], by=grower)
    start_run([code], by=grower)
    assert mark_label_lost([code], by=grower) == [code]
    assert LostLabel.objects.count() == 2


def test_what_is_found_again_is_taken_off(grower: Person) -> None:
    one, two = (frag.code_id for frag in make_frags(grower, 2))
    mark_label_lost([one, two], by=grower)
    assert mark_label_found([one], by=grower) == 1
    assert mark_label_found([one], by=grower) == 0
    assert waiting() == [two]


@pytest.mark.parametrize(
    ("codes", "error", "message"),
    [
        ([], InputError, "No labels were asked for"),
        (["7K3-Q9F-M"], CodeError, "A character in 7K3-Q9F-M is wrong"),
        (["7K3-Q9F-N"], NotFound, "No such code was made here: 7K3-Q9F-N"),
    ],
)
def test_bad_input_notes_nothing(
    grower: Person, codes: list[str], error: type[FraginvError], message: str
) -> None:
    good = [make_frags(grower, 1)[0].code_id] if codes else []
    with pytest.raises(error, match=message):
        mark_label_lost([*good, *codes], by=grower)
    assert not LostLabel.objects.exists()


def test_a_blank_label_is_not_missed(grower: Person) -> None:
    blank = issue_blank_run(1)[0].pk
    with pytest.raises(InputError, match="belongs to nothing yet. Use the next blank label"):
        mark_label_lost([blank], by=grower)


def test_the_list_says_what_each_label_says_and_since_when(grower: Person) -> None:
    noon = datetime(2026, 11, 12, 17, tzinfo=UTC)
    with clock.at(noon):
        colony = make_colony(grower)
        mark_label_lost([colony.code_id], by=grower)
    (row,) = lost_page().rows
    assert row.label.title == colony.variety.name
    assert (row.lost.noted_at, row.lost.by) == (noon, grower)


@pytest.mark.parametrize("count", [1, 10])
def test_the_list_needs_few_queries_however_long(
    grower: Person, count: int, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    codes = [frag.code_id for frag in make_frags(grower, count)]
    codes += [make_rack(grower).code_id, make_colony(grower).code_id]
    mark_label_lost(codes, by=grower)
    with django_assert_max_num_queries(5):
        assert len(lost_page().rows) == count + 2


def test_the_list_is_read_page_by_page(grower: Person) -> None:
    codes = [frag.code_id for frag in make_frags(grower, 5)]
    with clock.at(clock.now() - timedelta(days=1)):
        mark_label_lost(codes, by=grower)
    first = lost_page(size=3)
    second = lost_page(size=3, after=first.portion.after)
    assert [row.label.code for row in [*first.rows, *second.rows]] == codes
    assert second.portion.after is None


def test_a_frag_that_was_relabelled_waits_with_the_code_it_has_now(grower: Person) -> None:
    frag, other = make_frags(grower, 2)
    mark_label_lost([other.code_id, frag.code_id], by=grower)
    now = relabel_frag(relabel_frag(frag.pk, by=grower).pk, by=grower).code_id
    assert waiting() == [other.code_id, now]
    rows = lost_page().rows
    assert [row.label.code for row in rows] == [other.code_id, now]
    assert rows[1].label.title == frag.variety.name
    assert mark_label_lost([frag.code_id, now], by=grower) == []
    run = start_run(waiting(), by=grower)
    assert [code.pk for code in run_codes(run)] == [other.code_id, now]
    assert (waiting(), lost_count()) == ([], 0)
    assert mark_label_lost([frag.code_id], by=grower) == [now]
    assert mark_label_found([frag.code_id], by=grower) == 1


def test_what_is_found_or_printed_under_another_code_waits_no_longer(grower: Person) -> None:
    frag = make_frags(grower, 1)[0]
    mark_label_lost([frag.code_id], by=grower)
    now = relabel_frag(frag.pk, by=grower).code_id
    assert mark_label_found([now], by=grower) == 1
    assert waiting() == []


def test_a_run_printed_again_says_the_codes_that_frags_have_now(grower: Person) -> None:
    frags = make_frags(grower, 3)
    run = start_run([frag.code_id for frag in frags], by=grower)
    now = relabel_frag(frags[1].pk, by=grower).code_id
    again = print_again(run.pk, by=grower)
    assert [code.pk for code in run_codes(again)] == [frags[0].code_id, now, frags[2].code_id]


def test_an_old_mark_that_reads_like_a_code_in_use_leads_nowhere(grower: Person) -> None:
    frag, rack = make_frags(grower, 1)[0], make_rack(grower)
    OldCode.objects.create(code=frag.code, text=rack.code_id, folded=rack.code_id)
    mark_label_lost([rack.code_id], by=grower)
    assert waiting() == [rack.code_id]
    assert mark_label_found([frag.code_id], by=grower) == 0
