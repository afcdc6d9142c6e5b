"""An instrument is moved to another revision of its spec."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from shop.catalogue import revising
from shop.catalogue.models import KitLine, SpecRevision
from shop.floor import board, door, following
from shop.floor.models import Entry, Instrument
from tests.floor.morning import (
    NOW,
    act,
    check_tray,
    measured,
    now,
    ready_for,
    rules,
    step,
    words,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

IT = "Q-1043"  # TARN, at N40
WHY = "The holes are bored wider from now on"


def renewed(spec: str = "TARN", own_route: bool = False, **differs: Any) -> SpecRevision:
    """The next revision of a spec, still a draft, with these fields set otherwise."""
    last = SpecRevision.objects.get(spec__key=spec, state="open")
    draft = revising.next_draft(last, own_route=own_route)
    SpecRevision.objects.filter(pk=draft.pk).update(**differs)
    return SpecRevision.objects.get(pk=draft.pk)


def opened(spec: str = "TARN", **differs: Any) -> int:
    draft = renewed(spec, **differs)
    revising.open_revision(draft)
    return draft.pk


def move(to: int, serial: str = IT, reason: str = WHY, at: Any = NOW) -> door.Outcome:
    deed = door.RevisionMoved(now(serial).id, to)
    return door.record(act("P-01", "", at, reason=reason), deed)


def without(code: str, spec: str = "TARN") -> int:
    """The next revision, open, whose route lacks an operation with one before and one after."""
    draft = renewed(spec, own_route=True)
    route = draft.route
    before = route.precedences.get(after__code=code)
    after = route.precedences.filter(before__code=code)
    for one in after:
        one.pk, one.before, one._state.adding = None, before.before, True
        one.save()
    route.precedences.filter(after__code=code).delete()
    route.precedences.filter(before__code=code).delete()
    route.stops.filter(operation__code=code).delete()
    revising.route_changed(route.pk)
    revising.open_revision(SpecRevision.objects.get(pk=draft.pk))
    return draft.pk


def test_an_instrument_moved_is_built_to_the_other_revision_from_now_on() -> None:
    to = opened(hold_h=120)
    assert move(to).result == "recorded"
    assert now(IT).revision_id == to
    assert now(IT).sheet.spec.name == "TARN revision 2"
    assert now(IT).sheet.hold == timedelta(hours=120)


def test_what_is_done_stays_done() -> None:
    before = now(IT).done
    move(opened())
    assert now(IT).done == before


def test_the_journal_keeps_who_moved_it_and_why() -> None:
    to = opened()
    move(to)
    row = Entry.objects.get(kind="moved")
    assert (row.who, row.reason, row.data["revision_id"]) == ("P-01", WHY, to)


def test_the_tray_counts_as_picked_to_the_new_revision_and_is_scanned_again() -> None:
    ready_for(IT, "N40")
    move(opened())
    assert "tray scan" in rules(step(IT, "N40"))
    assert check_tray(IT).result == "recorded"
    assert step(IT, "N40").done


def test_another_kit_in_the_tray_is_stopped_with_what_differs() -> None:
    draft = renewed()
    KitLine.objects.filter(kit__revision=draft, item__key="E04").delete()
    revising.open_revision(draft)
    outcome = move(draft.pk)
    assert rules(outcome) == ["tray lines"]
    assert words(outcome) == (
        "The tray of Q-1043 was picked for TARN revision 1: 1 × E04. "
        "TARN revision 2 asks for nothing there."
    )
    assert now(IT).sheet.spec.revision == 1


def test_another_case_is_no_matter_of_the_tray() -> None:
    draft = renewed()
    line = KitLine.objects.get(kit__revision=draft, item__key="C01")
    assert not line.in_tray
    line.delete()
    revising.open_revision(draft)
    assert move(draft.pk).done


def test_what_the_buyer_agreed_to_is_not_lost_by_moving() -> None:
    """Q-1044 leaves out T01 and E04; a revision without E04 has nothing to leave out."""
    draft = renewed()
    KitLine.objects.filter(kit__revision=draft, item__key="E04").delete()
    revising.open_revision(draft)
    assert "deviation" in rules(move(draft.pk, "Q-1044"))
    assert now("Q-1044").sheet.spec.revision == 1


def test_what_was_measured_is_judged_by_the_new_revision_at_once() -> None:
    ready_for(IT, "N40")
    assert measured(IT, "N40", hole="8.60").done
    assert {one.rule for one in now(IT).standing["readings"]} == {"R06"}
    to = opened()
    for limit, value in (("R06.splits", "0.30"), ("R06.most", "0.25")):
        revising.set_limit(to, limit, Decimal(value), "P-01", "Tried on scrap", NOW.date())
    assert move(to).done
    assert "readings" not in now(IT).standing


def test_what_is_done_off_the_new_route_stays_in_the_history_and_is_told() -> None:
    to = without("N20")
    outcome = move(to)
    assert words(outcome) == "N20 done and not on the route of TARN revision 2."
    assert outcome.findings[0].then == "It stays in the history."
    assert "N20" in now(IT).done_codes
    assert "N20" not in {one.code for one in now(IT).sheet.stops}
    assert now(IT).next_codes[0] == "N40"


def test_what_is_in_hand_is_finished_before_the_move() -> None:
    Instrument.objects.filter(body__serial=IT).update(
        open_step={"operation": "F10", "by": "P-12", "since": NOW.isoformat()}
    )
    to = without("F10")
    outcome = move(to)
    assert rules(outcome) == ["in hand"]
    assert words(outcome) == "F10 is in hand and is not on the route of TARN revision 2."
    assert now(IT).sheet.spec.revision == 1


def test_it_moves_to_the_open_revision_of_its_own_spec_only() -> None:
    own = now(IT).revision_id
    draft = renewed().pk
    other = SpecRevision.objects.get(spec__key="HOLM", state="open").pk
    for to in (own, draft, other, 0):
        assert rules(move(to)) == ["revision"]
    assert now(IT).revision_id == own


def test_it_is_not_moved_without_a_reason() -> None:
    outcome = move(opened(), reason="")
    assert rules(outcome) == ["moved"]
    assert now(IT).sheet.spec.revision == 1


def test_what_is_on_record_as_built_stays_at_its_revision() -> None:
    at = NOW + timedelta(hours=2)
    for code in ("I30", "I50"):
        ready_for("Q-1040", code, "P-32", "R", at)
        assert step("Q-1040", code, "P-32", "R", at).done
    assert rules(move(opened("NESS"), "Q-1040", at=at)) == ["released"]


def test_scrap_is_not_moved() -> None:
    it = now(IT)
    assert door.record(act("P-01", "", reason="Split"), door.Scrapped(it.id)).done
    assert rules(move(opened())) == ["ended"]
    assert board.by_serial(IT) is not None


def test_a_move_is_made_again_from_the_journal() -> None:
    ready_for(IT, "N40")
    assert move(opened()).done
    assert following.differences()[1] == []
