"""Where a lot went: from its movements to instruments, through singles and what was set apart."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.people.models import Badge
from shop.stock import ledger, shelf
from shop.stock.models import Lot, Tray, TrayLine
from tests.floor.morning import NOW
from tests.stock.corner import Corner, tampering

pytestmark = pytest.mark.django_db

LATER = NOW + timedelta(hours=3)
CLERK = "P-41"


def badge(code: str) -> int:
    return Badge.objects.get(code=code).pk


def of(lot: Lot | int) -> shelf.Used:
    found = shelf.used(lot if isinstance(lot, int) else lot.pk)
    assert found is not None
    return found


def closed(corner: Corner, quantity: int = 1) -> Tray:
    return corner.close(corner.put_in(corner.ask(T03=quantity), T03="T03"))


def fitted(corner: Corner, quantity: int = 1) -> Tray:
    """The parts of a tray fitted three hours later, by somebody of the neck bench."""
    tray = closed(corner, quantity)
    ledger.consume(tray.pk, None, badge("P-11"), LATER)
    return tray


def first_lot() -> int:
    """The lot T03 lay in from the first, its singles left out."""
    return Lot.objects.get(item__key="T03", code="31-02A", piece="").pk


def stages(lot: Lot | int) -> list[tuple[str, str, int]]:
    return [(one.serial, one.stage, one.quantity) for one in of(lot).uses]


# --- out of the bin, one stage after another ---


def test_a_lot_that_went_nowhere_was_used_nowhere(corner: Corner) -> None:
    told = of(corner.lot("T03"))
    assert (told.key, told.lot.code, told.lot.on_hand) == ("T03", "31-02A", 6)
    assert (told.uses, told.kin, told.serials, told.people) == ((), (), (), ())


def test_a_lot_that_never_was_was_used_nowhere(corner: Corner) -> None:
    assert shelf.used(0) is None


def test_a_tray_that_is_to_get_of_it_is_told_before_anything_moves(corner: Corner) -> None:
    tray = corner.ask(T03=2)
    (one,) = of(corner.lot("T03")).uses
    assert (one.serial, one.tray, one.kept, one.quantity) == (tray.serial, tray.code, 2, 0)
    assert one.stage == "kept for it"


def test_what_was_picked_from_a_lot_counts_as_kept_of_that_lot(corner: Corner) -> None:
    tray = corner.ask(T03=2)
    other = corner.receive("T03", 4, date(2031, 3, 1), "other")
    picks = [ledger.PutIn(tray.lines.get().pk, corner.items["T03"], lot_id=other)]
    ledger.put_in(tray.pk, picks)
    assert [(one.serial, one.kept) for one in of(other).uses] == [(tray.serial, 2)]


def test_what_lies_in_a_closed_tray_is_told_with_who_checked_and_closed_it(
    corner: Corner,
) -> None:
    tray = closed(corner, 2)
    (one,) = of(corner.lot("T03")).uses
    assert (one.serial, one.stage, one.quantity, one.kept) == (tray.serial, "in its tray", 2, 0)
    assert (one.checked_by, one.closed_by, one.fitted_by) == (CLERK, CLERK, "")
    assert one.first_at == NOW


def test_what_was_fitted_is_told_with_who_fitted_it_and_when(corner: Corner) -> None:
    tray = fitted(corner, 2)
    (one,) = of(corner.lot("T03")).uses
    assert (one.serial, one.stage, one.fitted) == (tray.serial, "fitted", 2)
    assert (one.fitted_by, one.fitted_at) == ("P-11", LATER)
    assert one.people == (CLERK, "P-11")
    assert of(corner.lot("T03")).people == ("P-11", CLERK)


def test_what_was_fitted_before_movements_said_so_is_known_by_its_line(corner: Corner) -> None:
    tray = closed(corner)
    with tampering():
        TrayLine.objects.filter(tray=tray).update(fitted=1)
        (one,) = of(corner.lot("T03")).uses
        assert (one.stage, one.fitted, one.fitted_at) == ("fitted", 1, None)


def test_a_tray_opened_and_closed_again_has_of_it_once(corner: Corner) -> None:
    tray = closed(corner, 2)
    ledger.open_tray(tray.pk, corner.clerk, LATER)
    assert stages(corner.lot("T03")) == [(tray.serial, "kept for it", 0)]
    corner.close(tray)
    assert stages(corner.lot("T03")) == [(tray.serial, "in its tray", 2)]


def test_what_was_exchanged_in_a_tray_opened_again_is_told_as_come_back(corner: Corner) -> None:
    tray = closed(corner)
    first = corner.lot("T03")
    ledger.open_tray(tray.pk, corner.clerk, LATER)
    other = corner.receive("T03", 4, date(2031, 3, 1), "other")
    line = TrayLine.objects.get(tray=tray)
    ledger.put_in(tray.pk, [ledger.PutIn(line.pk, corner.items["T03"], lot_id=other)])
    corner.close(tray)
    assert stages(first.pk) == [(tray.serial, "came back", 0)]
    assert stages(other) == [(tray.serial, "in its tray", 1)]


def test_the_earliest_use_is_told_first_and_what_is_only_kept_last(corner: Corner) -> None:
    waits = corner.ask(T03=1)
    first, second = fitted(corner), closed(corner)
    lot = of(corner.lot("T03"))
    assert lot.serials == (first.serial, second.serial, waits.serial)


# --- its kin ---


def test_singles_of_a_broken_set_are_its_kin_and_what_was_drawn_of_them_its_use(
    corner: Corner,
) -> None:
    lot = corner.lot("T03").pk
    singles = ledger.break_set(lot, corner.clerk, NOW, "A post is bent on Q-7001")
    ledger.draw(singles[0], 1, "Q-7001", corner.clerk, LATER, "A post is bent")
    told = of(lot)
    assert {one.id for one in told.kin} == set(singles)
    assert {one.words for one in told.kin} == {"31-02A, left singles", "31-02A, right singles"}
    (one,) = told.uses
    assert (one.serial, one.stage, one.quantity) == ("Q-7001", "drawn for its repair", 1)
    assert (one.lot.id, one.people, one.first_at) == (singles[0], (CLERK,), LATER)


def test_a_single_is_of_the_lot_it_was_broken_from_and_of_all_that_went_out_of_that(
    corner: Corner,
) -> None:
    tray = fitted(corner)
    singles = ledger.break_set(corner.lot("T03").pk, corner.clerk, NOW, "For repairs")
    told = of(singles[1])
    assert told.lot.words == "31-02A, right singles"
    assert told.serials == (tray.serial,)


def test_what_came_off_an_instrument_is_kin_of_the_lot_its_tray_had(corner: Corner) -> None:
    lot = corner.lot("T03").pk
    tray = fitted(corner)
    why = f"Off {tray.serial}, scrapped: split"
    apart = ledger.quarantine(
        corner.items["T03"], 1, f"off {tray.serial}", why, corner.clerk, LATER
    )
    for one in (lot, apart):
        assert {of(one).lot.id, *(it.id for it in of(one).kin)} == {lot, apart}
        assert [(use.lot.id, use.stage, use.fitted, use.off) for use in of(one).uses] == [
            (lot, "fitted", 1, 0),
            (apart, "came off it", 0, 1),
        ]


def test_what_came_off_one_and_went_onto_another_leads_to_both(corner: Corner) -> None:
    """Off an instrument, looked at, back in the bin as singles, and drawn for a repair."""
    tray = fitted(corner)
    apart = ledger.quarantine(
        corner.items["T03"], 1, f"off {tray.serial}", "Scrapped", corner.clerk, LATER
    )
    left, _ = ledger.look(apart, ledger.Singles(1, 3, 2, "31-02A"), corner.clerk, LATER)
    ledger.draw(left, 1, "Q-7002", corner.clerk, LATER + timedelta(hours=1), "A button is lost")
    assert of(apart).serials == of(left).serials == (tray.serial, "Q-7002")
    assert of(first_lot()).serials == (tray.serial, "Q-7002")


def test_another_lot_of_the_item_is_no_kin_for_being_moved_at_another_moment(
    corner: Corner,
) -> None:
    first = corner.lot("T03").pk
    other = corner.receive("T03", 4, date(2031, 3, 1), "other")
    ledger.break_set(first, corner.clerk, NOW, "For repairs")
    ledger.break_set(other, corner.clerk, LATER, "For repairs")
    assert {one.code for one in of(first).kin} == {"31-02A"}
    assert {one.code for one in of(other).kin} == {"other"}


# --- how it is found, and how it is asked ---


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("t03 31-02a", ["31-02A"]),
        ("31-02A T03", ["31-02A"]),
        ("bath", ["other"]),
        ("oth", ["other"]),
        ("T10 other", []),
        ("", []),
        ("  ", []),
        ("%", []),
    ],
)
def test_a_lot_is_found_by_part_of_its_code_or_plating_lot(
    corner: Corner, text: str, codes: list[str]
) -> None:
    ledger.receive(corner.items["T03"], "Y-01", "other", 4, date(2031, 3, 1), NOW, plating="Bath 7")
    found = [one.code for one in shelf.lots_named(text) if one.key == "T03"]
    assert found == codes


@pytest.mark.parametrize("more", [5, 40])
def test_it_takes_seven_statements_for_any_number_of_instruments(corner: Corner, more: int) -> None:
    corner.receive("T03", 60, date(2031, 1, 1), "31-02A", "A-03")
    ledger.quarantine(corner.items["T03"], 1, "off Y-1", "Scrapped", corner.clerk, NOW)
    for _ in range(more):
        fitted(corner)
    lot = first_lot()
    with CaptureQueriesContext(connection) as asked:
        assert len(of(lot).uses) == more
    assert len(asked) == 7
