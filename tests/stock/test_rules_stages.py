"""Why a frag is not for sale, and what a hold may be."""

from datetime import UTC, datetime, timedelta

import pytest

from fraginv.base.errors import InputError
from fraginv.stock.rules.holds import (
    ClaimKind,
    Holder,
    check_hold_pieces,
    hold_end,
    say_holders,
)
from fraginv.stock.rules.stages import (
    ENDED,
    LIVING,
    Stage,
    Standing,
    say_trouble,
    why_not_for_sale,
)

NOW = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("standing", "why"),
    [
        (Standing("ready"), ""),
        (Standing("growing"), "it is still growing: grade it ready first"),
        (Standing("healing"), "it is still healing: grade it ready first"),
        (Standing("sold"), "it is sold already"),
        (Standing("lost"), "it is lost already"),
        (Standing("kept"), "it is kept as a colony"),
        (Standing("ready", kept_back=True), "it is kept back"),
        (Standing("ready", apart=True, kept_back=True), "it is set apart"),
        (Standing("ready", quarantined=True, apart=True), "it is in quarantine"),
        (Standing("ready", barred=True, quarantined=True), "its colony is barred from sale"),
    ],
)
def test_first_reason_why_a_frag_is_not_for_sale(standing: Standing, why: str) -> None:
    assert why_not_for_sale(standing) == why


def test_what_is_wrong_in_words() -> None:
    assert say_trouble("") == ""
    assert say_trouble("bleaching") == "not well: bleaching"
    assert say_trouble("rtn") == "not well: RTN or STN (tissue necrosis)"


def test_every_stage_is_either_living_or_ended() -> None:
    assert set(Stage) == LIVING | ENDED
    assert not LIVING & ENDED


@pytest.mark.parametrize(
    ("kind", "until", "end"),
    [
        (ClaimKind.WALK, None, NOW + timedelta(minutes=30)),
        (ClaimKind.NAMED, None, NOW + timedelta(days=3)),
        (ClaimKind.NAMED, NOW + timedelta(days=60), NOW + timedelta(days=60)),
        (ClaimKind.PAID, None, None),
        (ClaimKind.PAID, NOW + timedelta(days=1), None),
    ],
)
def test_when_a_hold_ends(kind: ClaimKind, until: datetime | None, end: datetime | None) -> None:
    assert hold_end(kind, until=until, now=NOW) == end


@pytest.mark.parametrize(
    ("until", "said"),
    [
        (NOW, "would end in the past"),
        (NOW - timedelta(days=1), "would end in the past"),
        (NOW + timedelta(days=60, seconds=1), "lasts 60 days at most"),
    ],
)
def test_holds_that_cannot_be(until: datetime, said: str) -> None:
    with pytest.raises(InputError, match=said):
        hold_end(ClaimKind.NAMED, until=until, now=NOW)


def test_a_hold_is_of_at_least_one_piece() -> None:
    check_hold_pieces(1)
    with pytest.raises(InputError, match="0 pieces"):
        check_hold_pieces(0)


def test_holders_are_told_in_the_zone_of_the_house() -> None:
    holders = [Holder("Ines Varga", 5, NOW), Holder("Ticket 4", 1, None)]
    assert say_holders(holders, zone="America/New_York") == (
        "Ines Varga has 5 until 2026-11-25 10:00; Ticket 4 has 1 until it is fetched"
    )
