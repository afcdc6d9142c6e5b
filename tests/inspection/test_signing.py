"""Who signed what becomes of something that the first look found has seen it: the second look is
another's, and that is told before they sign.

The second inspector has fresh eyes, and a signature counts as having seen it: common practice, no
source.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

import pytest
from django.apps import apps

from shop.floor import board, door, following
from shop.floor.models import Instrument
from shop.people import badges
from shop.people.models import Badge
from tests.bench.screens import Screen, seen, signed_in, tag
from tests.floor.casing import CASED, HOUR, MINUTE, READY, SERIAL, cased, done, looked, number
from tests.floor.morning import act, asking, now, person, rules, words
from tests.inspection.test_deciding import phone
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

LOOK = CASED - 2 * HOUR
TOLD = f"Who signs this does not take the second look of {SERIAL}."


def chip(grade: int = 2, by: str = "P-31", found_at: str = "I10") -> int:
    """A chip is noted; the number of its row."""
    deed = door.DefectNoted(number(), "finish", "chip", grade, 1, found_at=found_at)
    seq = done(deed, LOOK, by, "I").seq
    assert seq is not None
    return seq


def decided(row: int, by: str, beside: str, what: str = "seconds") -> None:
    """Two badges decide it, and nothing has to be repaired."""
    acts = act(by, "I", LOOK + MINUTE, reason="A repair would show", beside=person(beside))
    outcome = door.record(acts, door.DefectDecided(number(), row, what))
    assert outcome.done, words(outcome)


def page(row: int, query: str = "?what=rework&loop=set-up", beside: str = "") -> Screen:
    return seen(phone("P-31", beside).get(f"/{tag(SERIAL)}/defects/{row}/decide/{query}"))


def signed_off(code: str) -> None:
    lead = Badge.objects.get(code="P-01")
    badges.train(Badge.objects.get(code=code), "R", lead, LOOK.date())


# --- at the door ---


@pytest.mark.parametrize(("by", "beside"), [("P-32", "P-01"), ("P-31", "P-32")])
def test_neither_of_the_two_who_decided_takes_the_second_look(by: str, beside: str) -> None:
    row = chip()
    if by == "P-31":  # what an inspector decides with another one freezes it until it is freed
        decided(row, by, beside, "hold for decision")
        done(door.Freed(number()), LOOK + 2 * MINUTE, "P-01", reason="Looked at")
        decided(row, "P-01", "P-31")
    else:
        decided(row, by, beside)
    cased()
    outcome = looked(READY)
    assert not outcome.done
    assert rules(outcome) == ["person"]
    assert "You signed a decision on what the first look of this guitar found." in words(outcome)
    then = outcome.findings[0].then
    assert then == "Hand it to another person who may do I30, or ask the lead for one."


def test_nor_do_they_sign_beside_somebody_who_takes_it() -> None:
    decided(chip(), "P-32", "P-01")
    cased()
    signed_off("P-22")
    found = board.against(now(SERIAL), "I30", asking("P-22", "R", READY, "P-32"))
    assert "P-32 beside you signed a decision" in " ".join(one.words for one in found)
    assert "Have another sign beside you" in " ".join(one.then for one in found)


@pytest.mark.parametrize("found_at", ["A30", "R"])
def test_what_another_place_found_bars_nobody(found_at: str) -> None:
    decided(chip(found_at=found_at), "P-32", "P-01")
    cased()
    found = board.against(now(SERIAL), "I30", asking("P-32", "R", READY))
    assert "person" not in [one.rule for one in found]


def test_who_waits_for_what_knows_of_it() -> None:
    decided(chip(), "P-32", "P-01")
    cased()
    nexts = board.waiting_of(now(SERIAL), READY).nexts
    assert {"P-01", "P-32"} <= next(one for one in nexts if one.code == "I30").apart


def test_who_signed_is_kept_from_nothing_any_more(today: Clock) -> None:
    row = chip()
    today.now = LOOK + MINUTE
    way = f"/{tag(SERIAL)}/defects/"
    assert "chip" not in seen(signed_in("P-32", "R").get(way)).words.lower()
    decided(row, "P-32", "P-01")
    assert "chip" in seen(signed_in("P-32", "R").get(way)).words.lower()


def test_the_list_of_repairs_tells_it_to_who_signed_too(today: Clock) -> None:
    """P-31 decides it goes to repair, and one inspector signs beside them."""
    row = chip()
    signed_off("P-24")
    acts = act("P-31", "I", LOOK + MINUTE, reason="A buyer would return it", beside=person("P-32"))
    assert door.record(acts, door.DefectDecided(number(), row, "rework", "cosmetic")).done
    today.now = LOOK + HOUR
    assert "chip" in seen(signed_in("P-32", "R").get("/repairs/")).words.lower()
    assert "chip" not in seen(signed_in("P-24", "R").get("/repairs/")).words.lower()


# --- before they sign ---


def test_it_is_told_before_the_second_badge_signs(today: Clock) -> None:
    row = chip()
    today.now = LOOK + MINUTE
    screen = page(row)
    assert TOLD in screen.words
    assert "A second badge signs beside you" in screen.links


def test_of_what_another_place_found_nothing_is_told(today: Clock) -> None:
    row = chip(found_at="A30")
    today.now = LOOK + MINUTE
    assert "second look" not in page(row).words


def test_the_only_one_left_for_the_second_look_is_named_and_stops_nothing(today: Clock) -> None:
    row = chip()
    today.now = LOOK + MINUTE
    assert f"Only P-32 is left to take the second look of {SERIAL}." in page(row).words
    assert "nobody is left then" not in page(row, beside="P-01").words
    screen = page(row, beside="P-32")
    assert TOLD in screen.words
    only = f"Only P-32 could take the second look of {SERIAL}: nobody is left then."
    assert only in screen.words
    assert "Decide: Rework" in screen.buttons


def test_where_another_one_is_left_nobody_is_named(today: Clock) -> None:
    row = chip()
    signed_off("P-24")
    today.now = LOOK + MINUTE
    screen = page(row, beside="P-32")
    assert TOLD in screen.words
    assert "nobody is left then" not in screen.words
    assert "is left to take" not in page(row).words


def test_a_lead_who_is_asked_for_is_told_too(today: Clock) -> None:
    row = chip(grade=3)
    today.now = LOOK + MINUTE
    assert TOLD in page(row, "").words
    done(
        door.DefectDecided(number(), row, "hold for decision"), LOOK, "P-31", "I",
        reason="The limit is not clear",
    )  # fmt: skip
    assert TOLD in page(row, "").words


# --- kept ---


def test_the_floor_made_again_knows_who_decided() -> None:
    decided(chip(), "P-32", "P-01")
    assert [one.hands for one in now(SERIAL).decided] == [("P-32", "P-01")]
    assert following.differences()[1] == []


def test_what_was_decided_before_is_read_from_the_journal() -> None:
    row = chip()
    decided(row, "P-32", "P-01")
    kept: Any = Instrument.objects.get(pk=number()).decided
    Instrument.objects.filter(pk=number()).update(decided=[])
    module: Any = import_module("shop.floor.migrations.0020_who_decided")
    module.from_the_journal(apps, None)
    assert Instrument.objects.get(pk=number()).decided == kept
    assert kept == [[row, "I10", ["P-32", "P-01"]]]
