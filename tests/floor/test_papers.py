"""Noting papers of protected woods. The numbers are invented, the woods are real."""

from __future__ import annotations

import pytest

from shop.floor import board, door
from shop.floor.models import Entry, Permit
from tests.floor.around import NIGRA, SERIAL, bare, built_of, goes_to
from tests.floor.morning import act, now, rules, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

SPRUCE = "Picea sitchensis"


@pytest.fixture(autouse=True)
def _woods(morning: None, db: None) -> None:
    bare()
    built_of(NIGRA)
    built_of(SPRUCE, permit=False)
    goes_to("Norway")


def note(number: str = "N-4471/31", wood: str = NIGRA) -> door.Outcome:
    return door.record(act("P-01", ""), door.PermitNoted(now(SERIAL).id, wood, number))


def test_a_noted_paper_is_kept_with_who_noted_it() -> None:
    assert note().result == "recorded"
    kept = Permit.objects.get()
    assert (kept.wood, kept.number, kept.by.code) == (NIGRA, "N-4471/31", "P-01")
    assert kept.instrument.body.serial == SERIAL


def test_a_noted_paper_stands_in_the_instruments_journal() -> None:
    before = now(SERIAL).seq
    outcome = note()
    assert outcome.seq == now(SERIAL).seq == before + 1
    assert board.journal(now(SERIAL).id)[0]["data"]["number"] == "N-4471/31"
    assert Permit.objects.get().entry.seq == outcome.seq


def test_the_instrument_after_it_is_the_one_with_the_new_row() -> None:
    after = note().after
    assert after is not None
    assert after.seq == now(SERIAL).seq


@pytest.mark.parametrize("wood", [SPRUCE, "Quercus robur", ""])
def test_a_wood_that_needs_no_paper_here_takes_none(wood: str) -> None:
    outcome = note(wood=wood)
    assert (outcome.result, rules(outcome)) == ("refused", ["permit"])
    assert not Permit.objects.exists()


@pytest.mark.parametrize("number", ["", "   "])
def test_a_paper_without_a_number_is_none(number: str) -> None:
    assert words(note(number)) == f"The paper for {NIGRA} has no number yet."


@pytest.mark.parametrize("number", ["N" * 41, "N-1\n", "N-1\0"])
def test_a_number_that_no_paper_carries_is_refused_and_written_down(number: str) -> None:
    assert rules(note(number)) == ["permit"]
    assert not Permit.objects.exists()
    assert Entry.objects.latest("id").outcome == "refused"


def test_a_number_of_forty_signs_is_taken() -> None:
    assert note("N" * 40).done


def test_a_number_noted_before_is_told_and_not_noted_twice() -> None:
    note()
    assert words(note()) == f"N-4471/31 is noted for {NIGRA} already."
    assert Permit.objects.count() == 1


def test_a_wood_may_have_papers_of_two_authorities() -> None:
    assert note("EXPORT-1").done
    assert note("IMPORT-9").done
    (paper,) = board.papers(now(SERIAL))
    assert paper.numbers == ("EXPORT-1", "IMPORT-9")


def test_the_papers_it_needs_are_told_with_those_still_missing() -> None:
    (paper,) = board.papers(now(SERIAL))
    assert (paper.wood.botanical, paper.numbers) == (NIGRA, ())


def test_a_guitar_that_stays_here_needs_none() -> None:
    goes_to("")
    assert board.papers(now(SERIAL)) == ()
