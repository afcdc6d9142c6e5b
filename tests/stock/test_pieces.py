"""Parts that come back, sets broken and made, draws for repair, parts found on the floor.

What goes where: common practice, no source.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from shop.catalogue.models import Item
from shop.craft.singles import Laid
from shop.stock import ledger, shelf
from shop.stock.ledger import OutOfStep, Singles, Thrown, Whole
from shop.stock.models import Lot, LotHold, Movement, Tray, TrayLine
from tests.floor.morning import NOW
from tests.stock.corner import Corner

pytestmark = pytest.mark.django_db

WHY = "The wrong one was asked for"
ALL = Laid(*[True] * 5)
OLD = date(2031, 1, 1)


@pytest.fixture
def tray(corner: Corner) -> Tray:
    """A closed tray with 1 set T03 and 6 pins P04 in it."""
    tray = corner.ask(T03=1, P04=6)
    return corner.close(corner.put_in(tray, T03="T03", P04="P04"))


def line(tray: Tray, key: str, part: int = 1) -> TrayLine:
    return TrayLine.objects.get(tray=tray, item__key=key, part=part)


def counts(lot: Lot) -> tuple[int, int, int]:
    lot.refresh_from_db()
    return lot.on_hand, lot.reserved, lot.out


def first(key: str) -> Lot:
    """The lot of an item that was there first."""
    return Lot.objects.filter(item__key=key, piece="").order_by("id")[0]


def singles(key: str, code: str | None = None) -> dict[str, int]:
    rows = Lot.objects.filter(item__key=key, on_hand__gt=0).exclude(piece="")
    return {
        one.piece: one.on_hand
        for one in (rows.filter(code=code) if code else rows)
    }  # fmt: skip


def opened(tray: Tray, corner: Corner, key: str = "P04", quantity: int = 2) -> ledger.Back:
    return ledger.return_opened(line(tray, key).pk, quantity, corner.clerk, NOW, WHY)


# --- unused and sealed ---


def test_what_is_unused_and_sealed_is_in_its_bin_again(corner: Corner, tray: Tray) -> None:
    lot = first("P04")
    before = counts(lot)
    told = ledger.return_sealed(line(tray, "P04").pk, 2, corner.clerk, NOW, WHY)
    assert (told.key, told.lot, told.quantity, told.off) == ("P04", lot.code, 2, 0)
    assert counts(lot) == (before[0] + 2, before[1], before[2] - 2)
    kept = Movement.objects.latest("id")
    assert (kept.kind, kept.tray_id, kept.why, kept.by_id) == (
        "returned", tray.pk, WHY, corner.clerk,
    )  # fmt: skip
    assert shelf.unbalanced() == []


def test_the_tray_lacks_what_came_back_and_is_to_be_checked_again(
    corner: Corner, tray: Tray
) -> None:
    before = Tray.objects.get(pk=tray.pk).version
    ledger.return_sealed(line(tray, "P04").pk, 2, corner.clerk, NOW, WHY)
    assert Tray.objects.get(pk=tray.pk).version == before + 1
    assert (line(tray, "P04").quantity, line(tray, "P04").returned) == (6, 2)
    more = line(tray, "P04", 2)
    assert (more.quantity, more.state) == (2, "short")
    row = shelf.tray(tray.pk)
    assert row is not None
    facts = shelf.tray_facts(row)
    assert [one.quantity for one in facts.lines if one.article.key == "P04"] == [4]
    assert [(one.key, one.quantity) for one in facts.missing] == [("P04", 2)]


def test_a_line_that_came_back_whole_lies_in_the_tray_no_more(corner: Corner, tray: Tray) -> None:
    ledger.return_sealed(line(tray, "T03").pk, 1, corner.clerk, NOW, WHY)
    row = shelf.tray(tray.pk)
    assert row is not None
    assert [one.article.key for one in shelf.tray_facts(row).lines] == ["P04"]


def test_another_follows_for_what_came_back(corner: Corner, tray: Tray) -> None:
    ledger.return_sealed(line(tray, "P04").pk, 2, corner.clerk, NOW, WHY)
    ledger.open_tray(tray.pk, corner.clerk, NOW)
    ledger.put_in(tray.pk, [ledger.PutIn(line(tray, "P04", 2).pk, corner.items["P04"])])
    corner.close(Tray.objects.get(pk=tray.pk))
    assert counts(first("P04"))[2] == 6
    assert len(ledger.consume(tray.pk, None, corner.clerk, NOW)) == 3
    assert counts(first("P04"))[1:] == (0, 0)
    assert shelf.unbalanced() == []


@pytest.mark.parametrize(
    ("quantity", "why", "told"),
    [
        (7, WHY, "7 named, 6 lie unfitted in the tray"),
        (0, WHY, "0 come back: that is none"),
        (1, " ", "Say why it comes back"),
    ],
)
def test_what_cannot_come_back_changes_nothing(
    corner: Corner, tray: Tray, quantity: int, why: str, told: str
) -> None:
    before = Movement.objects.count()
    with pytest.raises(OutOfStep, match=told):
        ledger.return_sealed(line(tray, "P04").pk, quantity, corner.clerk, NOW, why)
    assert Movement.objects.count() == before
    assert line(tray, "P04").returned == 0


def test_nothing_comes_back_twice(corner: Corner, tray: Tray) -> None:
    ledger.return_sealed(line(tray, "T03").pk, 1, corner.clerk, NOW, WHY)
    for way in (ledger.return_sealed, ledger.return_opened):
        with pytest.raises(OutOfStep, match="1 named, 0"):
            way(line(tray, "T03").pk, 1, corner.clerk, NOW, WHY)


def test_nothing_comes_back_out_of_a_tray_that_is_open(corner: Corner) -> None:
    tray = corner.put_in(corner.ask(T03=1), T03="T03")
    with pytest.raises(OutOfStep, match="is open: nothing of it left its bin"):
        ledger.return_sealed(line(tray, "T03").pk, 1, corner.clerk, NOW, WHY)


def test_nothing_comes_back_of_a_line_that_was_short(corner: Corner) -> None:
    tray = corner.close(corner.put_in(corner.ask(T03=1, P04=1), T03="T03", P04=None))
    with pytest.raises(OutOfStep, match="P04 is short"):
        ledger.return_opened(line(tray, "P04").pk, 1, corner.clerk, NOW, WHY)
    with pytest.raises(OutOfStep, match="not here any more"):
        ledger.return_opened(0, 1, corner.clerk, NOW, WHY)


def test_what_is_fitted_does_not_come_back_sealed(corner: Corner, tray: Tray) -> None:
    ledger.consume(tray.pk, None, corner.clerk, NOW)
    with pytest.raises(OutOfStep, match="What was fitted comes back as opened"):
        ledger.return_sealed(line(tray, "T03").pk, 1, corner.clerk, NOW, WHY)


# --- opened, or off an instrument ---


def test_what_was_opened_is_set_apart_and_nobody_picks_it(corner: Corner, tray: Tray) -> None:
    lot, before = first("P04"), counts(first("P04"))
    told = opened(tray, corner)
    assert counts(lot) == (before[0], before[1], before[2] - 2)
    apart = Lot.objects.get(pk=told.lot_id)
    assert (apart.code, apart.on_hand) == (f"off {tray.serial}", 2)
    assert apart.held == f"Off {tray.serial}: {WHY}"
    assert shelf.free([corner.items["P04"]]) == {corner.items["P04"]: lot.on_hand}
    assert shelf.unbalanced() == []


def test_what_was_set_apart_keeps_its_instrument_line_and_bath(corner: Corner, tray: Tray) -> None:
    told = opened(tray, corner)
    kept = Movement.objects.get(lot_id=told.lot_id)
    assert (kept.kind, kept.serial, kept.line_id) == (
        "received", tray.serial, line(tray, "P04").pk,
    )  # fmt: skip
    assert Lot.objects.get(pk=told.lot_id).plating == first("P04").code


def test_what_comes_off_the_instrument_was_fitted_and_is_no_more(
    corner: Corner, tray: Tray
) -> None:
    ledger.consume(tray.pk, None, corner.clerk, NOW)
    told = opened(tray, corner, "T03", 1)
    assert told.off == 1
    it = line(tray, "T03")
    assert (it.fitted, it.returned) == (0, 1)
    assert counts(first("T03"))[2] == 0
    assert ledger.consume(tray.pk, None, corner.clerk, NOW) == ()
    assert shelf.unbalanced() == []


def test_more_than_lay_there_does_not_come_off(corner: Corner, tray: Tray) -> None:
    with pytest.raises(OutOfStep, match="7 named, 6 are in the tray or fitted"):
        opened(tray, corner, quantity=7)


def test_what_is_set_apart_is_listed_with_its_age(corner: Corner, tray: Tray) -> None:
    opened(tray, corner)
    [row] = shelf.set_apart(NOW.date() + timedelta(days=3))
    assert (row.key, row.code, row.quantity, row.days) == ("P04", f"off {tray.serial}", 2, 3)


# --- looked at ---


@pytest.fixture
def apart(corner: Corner, tray: Tray) -> Lot:
    """The set T03 of that tray, opened and set apart."""
    return Lot.objects.get(pk=opened(tray, corner, "T03", 1).lot_id)


def look(corner: Corner, lot: Lot, found: Whole | Singles | Thrown) -> tuple[int, ...]:
    return ledger.look(lot.pk, found, corner.clerk, NOW)


def test_a_set_found_whole_is_free_to_pick_again_in_its_lot(corner: Corner, apart: Lot) -> None:
    lot = first("T03")
    before = counts(lot)[0]
    assert look(corner, apart, Whole(1, lot.code, ALL)) == (lot.pk,)
    assert counts(lot)[0] == before + 1
    apart.refresh_from_db()
    assert (apart.on_hand, apart.held) == (0, "")
    assert LotHold.objects.filter(lot=apart).order_by("-id")[0].why == "All of it looked at"
    assert shelf.unbalanced() == []


def test_a_set_with_a_screw_missing_is_no_set(corner: Corner, apart: Lot) -> None:
    found = Whole(1, "x", Laid(True, False, True, True, True))
    with pytest.raises(OutOfStep, match="T03 is no set without screws and 1 spare"):
        look(corner, apart, found)
    apart.refresh_from_db()
    assert (apart.on_hand, bool(apart.held)) == (1, True)


def test_a_set_nobody_laid_out_is_no_set(corner: Corner, apart: Lot) -> None:
    with pytest.raises(OutOfStep, match="T03 is no set without"):
        look(corner, apart, Whole(1, first("T03").code))


def test_a_lot_must_be_named_for_what_goes_back(corner: Corner, apart: Lot) -> None:
    with pytest.raises(OutOfStep, match="Say which lot it is of"):
        look(corner, apart, Whole(1, "  ", ALL))
    with pytest.raises(OutOfStep, match="is a name for what is set apart"):
        look(corner, apart, Whole(1, "off Q-1050", ALL))


def test_nothing_joins_a_lot_that_is_held(corner: Corner, apart: Lot) -> None:
    ledger.hold(first("T03").pk, "Spotted", corner.clerk, NOW)
    with pytest.raises(OutOfStep, match="Nothing joins it until it is free"):
        look(corner, apart, Whole(1, first("T03").code, ALL))


def test_what_is_no_set_becomes_singles_by_hand_and_lot(corner: Corner, apart: Lot) -> None:
    code = first("T03").code
    into = look(corner, apart, Singles(1, 3, 2, code))
    assert singles("T03", code) == {"L": 3, "R": 2}
    assert set(into) == set(Lot.objects.exclude(piece="").values_list("pk", flat=True))
    assert shelf.unbalanced() == []


@pytest.mark.parametrize(("left", "right"), [(4, 3), (3, 4), (-1, 3)])
def test_no_more_singles_come_of_a_set_than_it_has(
    corner: Corner, apart: Lot, left: int, right: int
) -> None:
    with pytest.raises(OutOfStep, match="1 set of T03 held 3"):
        look(corner, apart, Singles(1, left, right, "x"))


def test_a_set_without_one_good_machine_is_thrown_away_with_a_reason(
    corner: Corner, apart: Lot
) -> None:
    with pytest.raises(OutOfStep, match="No machine of it is good"):
        look(corner, apart, Singles(1, 0, 0, "x"))
    with pytest.raises(OutOfStep, match="Say why it is thrown away"):
        look(corner, apart, Thrown(1, ""))
    assert look(corner, apart, Thrown(1, "Gears worn")) == ()
    apart.refresh_from_db()
    assert apart.on_hand == 0
    assert Movement.objects.latest("id").why == "Thrown away: Gears worn"


def test_pins_are_whole_without_a_set_being_laid_out(corner: Corner, tray: Tray) -> None:
    apart = Lot.objects.get(pk=opened(tray, corner).lot_id)
    look(corner, apart, Whole(1, first("P04").code))
    apart.refresh_from_db()
    assert (apart.on_hand, bool(apart.held)) == (1, True)


def test_pins_have_no_singles(corner: Corner, tray: Tray) -> None:
    apart = Lot.objects.get(pk=opened(tray, corner).lot_id)
    with pytest.raises(OutOfStep, match="P04 is no set of machines"):
        look(corner, apart, Singles(1, 1, 1, "x"))


def test_nobody_looks_twice_at_what_lay_there_once(corner: Corner, apart: Lot) -> None:
    look(corner, apart, Thrown(1, "Worn"))
    with pytest.raises(OutOfStep, match="is not set apart"):
        look(corner, apart, Thrown(1, "Worn"))


def test_a_lot_held_for_its_size_is_not_looked_at_so(corner: Corner) -> None:
    lot = first("T03")
    ledger.hold(lot.pk, "Post too thick", corner.clerk, NOW)
    with pytest.raises(OutOfStep, match="is not set apart"):
        look(corner, lot, Whole(1, lot.code, ALL))


# --- sets broken and made ---


def broken(corner: Corner, serial: str = "") -> Lot:
    lot = first("T03")
    ledger.break_set(lot.pk, corner.clerk, NOW, "A machine for a repair", serial)
    return lot


def test_a_broken_set_is_one_set_fewer_and_its_machines_by_hand(corner: Corner) -> None:
    before = counts(first("T03"))[0]
    lot = broken(corner, "Q-1050")
    assert counts(lot)[0] == before - 1
    assert singles("T03") == {"L": 3, "R": 3}
    left = Lot.objects.get(item__key="T03", piece="L")
    assert (left.code, left.plating, left.bin_id, left.received_on) == (
        lot.code, lot.plating, lot.bin_id, lot.received_on,
    )  # fmt: skip
    kinds = Movement.objects.filter(serial="Q-1050").values_list("kind", flat=True)
    assert list(kinds) == ["broken"] * 3
    assert shelf.unbalanced() == []


def test_singles_never_count_as_sets(corner: Corner) -> None:
    broken(corner)
    item = corner.items["T03"]
    left = counts(first("T03"))[0]
    assert shelf.free([item]) == {item: left}
    assert shelf.stocked([item])[item].free == left
    tray = corner.ask(T03=left + 1)
    assert line(tray, "T03").reserved == 0


def test_a_set_kept_for_a_tray_is_not_broken(corner: Corner) -> None:
    corner.ask(T03=6)
    with pytest.raises(OutOfStep, match="6 on hand, 6 kept for trays, 1 wanted"):
        broken(corner)
    assert singles("T03") == {}


def test_a_set_of_a_held_lot_is_not_broken(corner: Corner) -> None:
    ledger.hold(first("T03").pk, "Spotted", corner.clerk, NOW)
    with pytest.raises(OutOfStep, match=r"is held: Spotted\. Take another lot"):
        broken(corner)


def test_pins_and_singles_are_not_broken(corner: Corner) -> None:
    with pytest.raises(OutOfStep, match="P04 is no set of machines"):
        ledger.break_set(first("P04").pk, corner.clerk, NOW, WHY)
    broken(corner)
    left = Lot.objects.get(item__key="T03", piece="L")
    with pytest.raises(OutOfStep, match="T03 single is no set of machines"):
        ledger.break_set(left.pk, corner.clerk, NOW, WHY)


def make(corner: Corner, screws: bool = True, bushings: bool = True) -> int:
    lot = first("T03")
    return ledger.make_set(corner.items["T03"], lot.code, screws, bushings, corner.clerk, NOW)


def test_singles_of_one_lot_make_a_set_again(corner: Corner) -> None:
    before = counts(first("T03"))[0]
    broken(corner)
    assert make(corner) == first("T03").pk
    assert counts(first("T03"))[0] == before
    assert singles("T03") == {}
    assert shelf.unbalanced() == []


@pytest.mark.parametrize(
    ("screws", "bushings", "told"),
    [(False, True, "screws and 1 spare"), (True, False, "6 bushings")],
)
def test_no_set_is_made_without_screws_or_bushings(
    corner: Corner, screws: bool, bushings: bool, told: str
) -> None:
    broken(corner)
    with pytest.raises(OutOfStep, match=f"Lacks {told}"):
        make(corner, screws, bushings)
    assert singles("T03") == {"L": 3, "R": 3}


def test_no_set_is_made_with_a_machine_missing(corner: Corner) -> None:
    broken(corner)
    left = Lot.objects.get(item__key="T03", piece="L")
    ledger.draw(left.pk, 2, "Q-1050", corner.clerk, NOW, "Button cracked")
    with pytest.raises(OutOfStep, match="Lacks 2 left machines"):
        make(corner)


def test_singles_of_two_lots_make_no_set(corner: Corner) -> None:
    broken(corner)
    left = Lot.objects.get(item__key="T03", piece="L")
    ledger.draw(left.pk, 1, "Q-1050", corner.clerk, NOW, "Button cracked")
    other = corner.receive("T03", 2, OLD, "OTHER")
    ledger.break_set(other, corner.clerk, NOW, "Spares")
    with pytest.raises(OutOfStep, match="Lacks 1 left machine"):
        make(corner)


def test_a_marked_set_wants_a_machine_for_each_string(corner: Corner) -> None:
    item = Item.objects.get(key="T05")
    marked = item.tunerset
    type(marked).objects.filter(pk=marked.pk).update(staggered=True)
    lot = Lot.objects.get(item=item)
    ledger.break_set(lot.pk, corner.clerk, NOW, "Spares")
    with pytest.raises(OutOfStep, match="one machine for each string"):
        ledger.make_set(item.pk, lot.code, True, True, corner.clerk, NOW)
    assert ledger.make_set(item.pk, lot.code, True, True, corner.clerk, NOW, strings_ok=True)


def test_without_singles_no_set_is_made(corner: Corner) -> None:
    with pytest.raises(OutOfStep, match="No singles of lot"):
        make(corner)


# --- drawn and found ---


def test_a_single_is_drawn_for_a_repair_and_keeps_its_instrument(corner: Corner) -> None:
    broken(corner)
    left = Lot.objects.get(item__key="T03", piece="L")
    ledger.draw(left.pk, 1, "Q-1050", corner.clerk, NOW, "Button cracked")
    assert counts(left) == (2, 0, 0)
    kept = Movement.objects.latest("id")
    assert (kept.kind, kept.on_hand, kept.serial, kept.why) == (
        "drawn", -1, "Q-1050", "Button cracked",
    )  # fmt: skip


def test_what_is_kept_for_a_tray_is_not_drawn(corner: Corner) -> None:
    corner.ask(T03=5)
    with pytest.raises(OutOfStep, match="6 on hand, 5 kept for trays, 2 wanted"):
        ledger.draw(first("T03").pk, 2, "Q-1050", corner.clerk, NOW, WHY)
    ledger.draw(first("T03").pk, 1, "Q-1050", corner.clerk, NOW, WHY)
    assert counts(first("T03")) == (5, 5, 0)


@pytest.mark.parametrize(
    ("quantity", "serial", "why", "told"),
    [
        (1, "", WHY, "Say for which instrument"),
        (1, "Q-1050", "", "Say why it is drawn"),
        (0, "Q-1050", WHY, "0 of T03: that is none"),
    ],
)
def test_nothing_is_drawn_without_an_instrument_a_reason_and_a_count(
    corner: Corner, quantity: int, serial: str, why: str, told: str
) -> None:
    with pytest.raises(OutOfStep, match=told):
        ledger.draw(first("T03").pk, quantity, serial, corner.clerk, NOW, why)


def test_a_part_found_on_the_floor_is_set_apart_and_never_in_its_bin(corner: Corner) -> None:
    before = counts(first("T03"))
    lot = Lot.objects.get(
        pk=ledger.found(corner.items["T03"], 1, "Under the neck bench", corner.clerk, NOW, "L")
    )
    assert (lot.code, lot.piece, lot.on_hand) == ("found 2031-03-03", "L", 1)
    assert lot.held == "Found: Under the neck bench"
    assert counts(first("T03")) == before
    assert [one.left for one in shelf.singles(corner.items["T03"])] == []


def test_a_single_that_was_found_joins_the_singles_of_its_lot(corner: Corner) -> None:
    broken(corner)
    found = ledger.found(corner.items["T03"], 1, "Under the bench", corner.clerk, NOW, "L")
    ledger.look(found, Whole(1, first("T03").code), corner.clerk, NOW)
    assert singles("T03") == {"L": 4, "R": 3}


def test_a_part_nobody_knows_is_not_counted_and_says_what_to_do(corner: Corner) -> None:
    with pytest.raises(OutOfStep, match=r"Nobody knows this part yet\. Bag it"):
        ledger.found(None, 1, "Under the bench", corner.clerk, NOW)
    with pytest.raises(OutOfStep, match="Say where it lay"):
        ledger.found(corner.items["T03"], 1, "", corner.clerk, NOW)


# --- spares and lists ---


def due(key: str) -> list[tuple[int, int, int]]:
    return [(one.sets, one.wanted, one.there) for one in shelf.spares_due() if one.key == key]


def test_a_plated_lot_without_a_spare_single_is_told(corner: Corner) -> None:
    assert due("T03") == [(6, 1, 0)]
    broken(corner)
    assert due("T03") == []


def test_a_lot_of_21_sets_wants_two_spares(corner: Corner) -> None:
    corner.receive("T03", 21, OLD, "BIG")
    assert (21, 2, 0) in due("T03")


def test_a_lot_without_a_free_set_cannot_give_a_spare(corner: Corner) -> None:
    corner.ask(T03=6)
    assert due("T03") == []


@pytest.mark.parametrize("lots", [5, 40])
def test_the_lists_take_as_many_statements_for_any_number_of_lots(
    corner: Corner, lots: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(lots):
        lot = corner.receive("T03", 2, OLD, f"M{number}")
        ledger.break_set(lot, corner.clerk, NOW, "Spares")
        ledger.found(corner.items["T03"], 1, "A drawer", corner.clerk, NOW + timedelta(number))
    with django_assert_num_queries(1):
        assert len(shelf.set_apart(NOW.date())) == lots
    with django_assert_num_queries(1):
        assert len(shelf.singles()) == lots
    with django_assert_num_queries(3):
        shelf.spares_due()
