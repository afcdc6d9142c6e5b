"""Seeded panels: put up by a lead, called by two inspectors who know nothing, and judged of both
together. Panels and calls are invented; the figures are worked by hand beside each check.

That 20 panels are looked at and 80 % called alike is wanted: common practice, no source.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from shop.craft.quality.spots import FAMILIES, FIELDS, Spot
from shop.craft.rework import WORDS
from shop.floor import board, door, following
from shop.floor.models import Entry, Panel, PanelCall, PanelSet
from shop.floor.telling import Names, told
from shop.people import badges
from tests.floor.morning import act, person, rules, words
from tests.floor.seeded import CHIP, GAP, MANY, PANELS, A, B, call, call_all, seed

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

LEAD, ONE, OTHER = "P-01", "P-31", "P-32"


def number_of(badge: str) -> int:
    return act(badge).by_id


def turn(badge: str = ONE, of: int = 1) -> board.Turn:
    found = board.panel_turn(of, number_of(badge))
    assert found is not None
    return found


def row(badge: str = ONE, of: int = 1) -> board.SetRow:
    return next(one for one in board.panel_sets(number_of(badge)) if one.number == of)


@pytest.fixture
def seeded(morning: None, db: None) -> None:
    assert seed().result == "recorded"


@pytest.fixture
def third(morning: None, db: None) -> str:
    badges.issue("P-39", "3939", ["inspector"], "I")
    return "P-39"


# --- what may be on a panel ---


def test_a_panel_shows_what_is_of_the_finish_the_wood_or_a_joint() -> None:
    for family, them in WORDS.items():
        for word in them:
            for field in FIELDS:
                assert Spot(field, family, word).can_be == (family in FAMILIES)
    assert not Spot("nowhere", "finish", "chip").can_be
    assert not Spot("middle", "finish", "starved").can_be  # a word of the joint


# --- seeded ---


@pytest.mark.usefixtures("seeded")
def test_a_set_gets_the_next_number_and_its_panels_theirs() -> None:
    assert seed(words="Another").done
    assert list(PanelSet.objects.values_list("number", "words")) == [(2, "Another"), (1, "31-03")]
    names = Panel.objects.filter(of__number=1).values_list("name", flat=True)
    assert list(names) == [f"1-{n:02}" for n in range(1, MANY + 1)]
    assert [Spot(*one) for one in Panel.objects.get(name="1-08").spots] == [GAP, CHIP]
    assert Panel.objects.get(name="1-20").spots == []


@pytest.mark.usefixtures("seeded")
def test_rows_of_panels_are_rows_of_no_instrument() -> None:
    call(3)
    rows: Any = Entry.objects.order_by("-pk").values_list("subject", "instrument_id", "kind")
    assert list(rows[:2]) == [("panels 1", None, "panel call"), ("panels", None, "panels")]


@pytest.mark.parametrize(
    ("differs", "rule"),
    [
        ({"words": " "}, "panel words"),
        ({"words": "x" * 61}, "panel words"),
        ({"panels": ((CHIP,),)}, "panels"),
        ({"panels": ((CHIP,), *[()] * 60)}, "panels"),
        ({"panels": ((CHIP,), (GAP,))}, "panels"),  # nothing to be called wrongly
        ({"panels": ((), ())}, "panels"),  # nothing to be found
        ({"panels": ((CHIP, CHIP), ())}, "panel spots"),
        ({"panels": ((Spot("middle", "fret", "high"),), ())}, "panel spots"),
        ({"panels": ((Spot("nowhere", "finish", "chip"),), ())}, "panel spots"),
        ({"panels": (tuple(Spot(one, "finish", "chip") for one in FIELDS[:5]), ())}, "panel spots"),
    ],
)
def test_panels_that_say_nothing_are_refused(differs: dict[str, Any], rule: str) -> None:
    outcome = seed(**differs)
    assert (outcome.result, rules(outcome)) == ("refused", [rule])
    assert not PanelSet.objects.exists()


@pytest.mark.usefixtures("seeded")
def test_a_set_that_is_put_away_is_called_no_more_and_once_is_enough() -> None:
    away = door.PanelsKept(away=1)
    assert door.record(act(LEAD, ""), away).result == "recorded"
    assert door.record(act(LEAD, ""), away).result == "already"
    assert call(1).result == "refused"
    assert row().away
    assert not row().is_open_to_asker


def test_a_set_that_there_is_not_is_neither_put_away_nor_called() -> None:
    assert door.record(act(LEAD, ""), door.PanelsKept(away=7)).result == "refused"
    outcome = call(1, of=7)
    assert (outcome.result, words(outcome)) == ("refused", "There is no set 7 of panels.")
    assert board.panel_turn(7, 1) is None


# --- called, by one who knows nothing ---


@pytest.mark.usefixtures("seeded")
def test_a_call_is_kept_and_the_next_panel_is_the_next_one_to_look_at() -> None:
    assert turn().next == 1
    assert call(1, found=False).result == "recorded"
    assert turn().mine == {1: False}
    assert turn().next == 2
    assert row().called == (1,)


@pytest.mark.usefixtures("seeded")
def test_whoever_looks_sees_nothing_of_what_is_there_or_of_what_another_called() -> None:
    call_all(A, OTHER)
    assert asdict(turn()) == {
        "number": 1, "words": "31-03", "away": False, "panels": tuple(range(1, MANY + 1)),
        "mine": {},
    }  # fmt: skip
    assert board.panels_called(1) == ()


@pytest.mark.usefixtures("seeded")
def test_the_same_call_again_writes_nothing_and_another_takes_its_place() -> None:
    call(1, found=True)
    rows = Entry.objects.count()
    assert call(1, found=True).result == "already"
    assert Entry.objects.count() == rows
    assert call(1, found=False).result == "recorded"
    assert turn().mine == {1: False}
    assert PanelCall.objects.count() == 1


@pytest.mark.usefixtures("seeded")
def test_once_all_are_called_the_calls_stand() -> None:
    call_all(A, ONE)
    outcome = call(1, found=False)
    assert outcome.result == "refused"
    assert words(outcome) == "You called all 20 panels: your calls stand."
    assert turn().next is None
    assert not row().is_open_to_asker


@pytest.mark.usefixtures("seeded")
def test_whoever_put_the_defects_there_does_not_call_them() -> None:
    outcome = call(1, by=LEAD)
    assert outcome.result == "refused"
    assert words(outcome).startswith("You put the defects on these panels")
    assert row(LEAD).seeded


@pytest.mark.usefixtures("seeded")
def test_nobody_calls_with_another_beside_them() -> None:
    outcome = call(1, beside=person(OTHER))
    assert outcome.result == "refused"
    assert words(outcome) == "P-32 signs beside you: a panel is looked at alone."


@pytest.mark.usefixtures("seeded")
def test_two_look_at_a_set_and_a_third_is_sent_to_another(third: str) -> None:
    call(1)
    call(1, by=OTHER)
    assert not row(third).is_open_to_asker
    outcome = call(1, by=third)
    assert outcome.result == "refused"
    assert words(outcome) == "Two others look at the panels of set 1 already."
    assert call(2).done  # the first goes on


@pytest.mark.usefixtures("seeded")
@pytest.mark.parametrize("panel", [0, -1, 21])
def test_a_panel_that_the_set_has_not_is_not_called(panel: int) -> None:
    assert call(panel).result == "refused"


# --- nobody by name ---


@pytest.mark.usefixtures("seeded")
def test_calls_name_nobody_and_are_not_to_be_joined_from_set_to_set() -> None:
    assert seed().done
    for of in (1, 2):
        call(1, of=of)
        call(2, of=of)
    tokens = list(PanelCall.objects.order_by("pk").values_list("token", flat=True))
    assert tokens[0] == tokens[1]
    assert tokens[2] == tokens[3]
    assert tokens[0] != tokens[2]
    columns = {one.name for one in PanelCall._meta.get_fields()}
    assert columns == {"id", "panel", "token", "found", "at", "entry"}


@pytest.mark.usefixtures("seeded")
def test_the_journal_tells_that_somebody_looked_and_not_what_they_called() -> None:
    call(1, found=True)
    call(2, found=False)
    rows = Entry.objects.filter(kind="panel call").order_by("pk")
    said = [(told(one, Names()).words, told(one, Names()).details) for one in rows]
    assert said == [
        ("P-31 looked at panel 1 of set 1.", ()),
        ("P-31 looked at panel 2 of set 1.", ()),
    ]


# --- judged ---


@pytest.mark.usefixtures("seeded")
def test_nothing_is_told_before_both_have_called_all() -> None:
    call_all(A, ONE)
    for panel in range(1, MANY + 1):
        assert board.agreement_of(1) is None
        call(panel, panel in B, OTHER)
    assert board.agreement_of(1) is not None
    assert row().done


@pytest.mark.usefixtures("seeded")
def test_two_inspectors_agree_as_it_is_worked_out_by_hand() -> None:
    """17 of 20 alike: 0.85. By chance (8 · 7 + 12 · 13) / 400 = 0.53, so that kappa is
    0.32 / 0.47 = 0.681."""
    call_all(A, ONE)
    call_all(B, OTHER)
    found = board.agreement_of(1)
    assert found is not None
    assert (found.both, found.only_first, found.only_second, found.neither) == (6, 2, 1, 11)
    assert found.share == pytest.approx(0.85)
    assert found.kappa == pytest.approx(0.32 / 0.47)
    assert (found.first.missed, found.first.seeded) == (1, 8)
    assert (found.first.false_alarms, found.first.clean) == (1, 12)
    assert (found.second.missed, found.second.false_alarms) == (1, 0)


@pytest.mark.usefixtures("seeded")
def test_whoever_began_first_is_a_whatever_they_change_later() -> None:
    call(1, found=False)
    call(1, by=OTHER)
    call(1, found=True)  # a call of A that takes the place of the first
    for panel in range(2, MANY + 1):
        call(panel, panel in A)
        call(panel, panel in B, OTHER)
    first = [one.number for one in board.panels_called(1) if one.first]
    assert first == sorted(A)


# --- kept ---


@pytest.mark.usefixtures("seeded")
def test_panels_made_again_from_the_journal_are_as_they_were() -> None:
    call_all(A, ONE)
    call(1, by=OTHER, found=False)
    call(1, by=OTHER, found=True)
    call(2, by=LEAD)  # refused
    assert seed().done
    assert door.record(act(LEAD, ""), door.PanelsKept(away=2)).done
    assert following.differences()[1] == []
    before = following.picture()
    following.rebuild()
    assert following.picture() == before
    assert row().called == (MANY, 1)


@pytest.mark.usefixtures("seeded")
def test_the_database_keeps_one_call_of_a_person_on_a_panel() -> None:
    call(1)
    kept = PanelCall.objects.get()
    kept.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        kept.save()


def test_more_sets_and_calls_take_no_more_statements() -> None:
    def asked() -> list[int]:
        counts = []
        questions = (
            lambda: board.panel_sets(1),
            lambda: board.panel_turn(1, 1),
            lambda: board.panels_called(1),
        )
        for ask in questions:
            with CaptureQueriesContext(connection) as caught:
                ask()
            counts.append(len(caught))
        return counts

    seed(panels=PANELS[6:10])
    few = asked()
    seed()
    call_all(A, ONE, of=2)
    call_all(B, OTHER, of=2)
    assert asked() == few == [2, 3, 2]
