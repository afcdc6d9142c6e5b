"""The lead puts another item in the place of one of the kit, on an instrument released already.

That what the buyer sees is asked about first, and that nothing is exchanged on samples and
custom builds: common practice, no source. The tapers of pins and their collars are the
invented workshop's.
"""

from __future__ import annotations

import dataclasses
from decimal import Decimal
from typing import Any

import pytest

from shop.catalogue import book, deciding
from shop.catalogue.models import Item, KitLine
from shop.craft.finding import Severity
from shop.craft.reading import Reading
from shop.floor import board, door, following
from shop.floor.deeds.substitutes import stays
from shop.floor.models import Deviation, Entry
from shop.stock import ledger, shelf
from shop.stock.models import Lot, TrayLine
from tests.floor.morning import NOW, act, forget, measured, now, pick, put, ready_for, rules, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

IT = "Q-1062"  # TARN, its tray asked for and not picked
WHY = "It ran out, the next comes too late"


def exchange(
    out: str = "T01", into: str = "T02", serial: str = IT, asked: Any = "yes", reason: str = WHY
) -> door.Outcome:
    deed = door.Substituted(now(serial).id, out, into, asked)
    return door.record(act("P-01", "", reason=reason), deed)


def lines(serial: str = IT) -> dict[str, dict[str, Any]]:
    tray = shelf.tray(now(serial).tray_id)
    assert tray is not None
    return {one["article"].key: one for one in tray["lines"]}


def stopped(outcome: door.Outcome, serial: str = IT) -> str:
    """What was said, nothing having changed but the journal."""
    assert outcome.result == "refused"
    assert not Deviation.objects.filter(
        instrument__body__serial=serial, approved__startswith="P-01"
    ).exists()
    return words(outcome)


def counts(item: str) -> tuple[int, int]:
    lot = Lot.objects.get(item__key=item)
    return lot.on_hand, lot.reserved


# --- done ---


def test_the_tray_asks_for_the_other_item_and_lets_the_first_one_go() -> None:
    """T01 14 on hand with 6 kept, T02 3 with 1, as the demo has them."""
    (t01, kept), (t02, asked) = counts("T01"), counts("T02")
    assert exchange().result == "recorded"
    assert "T01" not in lines()
    assert (lines()["T02"]["reserved"], lines()["T02"]["state"]) == (1, "open")
    assert counts("T01") == (t01, kept - 1)
    assert counts("T02") == (t02, asked + 1)
    assert shelf.unbalanced() == []


def test_the_instrument_is_built_with_it_from_then_on() -> None:
    exchange()
    it = now(IT)
    assert "T02" in {line.article.key for line in it.kit}
    assert "T01" not in {line.article.key for line in it.kit}
    assert it.deviations_count == 1


def test_who_approved_it_when_and_whether_the_buyer_was_asked_stands_with_the_instrument() -> None:
    exchange()
    [one] = now(IT).departures
    assert one.words == f"T02 open-gear individual set instead of T01: {WHY}"
    assert one.approved == "P-01, 2031-03-03, buyer asked"
    assert (one.out_key, one.into and one.into.key) == ("T01", "T02")


def test_the_tray_with_the_other_item_in_it_closes_without_a_word_against_it() -> None:
    exchange()
    tray_id = pick(IT)
    outcome = door.record(act("P-41", "K", reason="checked"), door.TrayClosed(tray_id))
    assert outcome.done, words(outcome)
    told = [one for one in outcome.findings if one.severity is not Severity.NOTE]
    assert not any("T02" in one.words and one.rule in {"R15", "R25"} for one in told)


def test_the_journal_keeps_it_with_its_reason() -> None:
    exchange()
    row = Entry.objects.get(kind="substitute")
    assert (row.who, row.reason, row.outcome) == ("P-01", WHY, "recorded")
    assert (row.data["out_key"], row.data["in_key"], row.data["asked"]) == ("T01", "T02", "yes")


def test_what_goes_to_the_bench_by_batch_is_exchanged_beside_the_tray() -> None:
    """Strings lie in no tray, and nobody sees one set from another: 818 N, 830 allowed."""
    before = list(TrayLine.objects.order_by("pk").values())
    assert exchange("R01", "R04", asked="no").result == "recorded"
    assert "R04" in {line.article.key for line in now(IT).kit}
    assert list(TrayLine.objects.order_by("pk").values()) == before
    assert now(IT).departures[0].approved == "P-01, 2031-03-03, buyer not asked"


def test_an_item_none_of_which_is_free_leaves_the_tray_short_and_says_so() -> None:
    lot = Lot.objects.get(item__key="T02")
    ledger.promise(lot.pk, lot.on_hand - lot.reserved, NOW, "invented for this test")
    outcome = exchange()
    assert outcome.result == "recorded"
    assert "T02: 0 free, 1 needed." in words(outcome)
    assert lines()["T02"]["reserved"] == 0


def test_what_was_measured_is_judged_with_the_other_item_at_once() -> None:
    """Holes bored to 8.33 split round a bushing of 8.80 (T01) and hold one of 8.35 (T03)."""
    ready_for("Q-1043", "N40")
    assert measured("Q-1043", "N40", hole="8.33").done
    assert {one.rule for one in now("Q-1043").standing["readings"]} == {"R06"}
    tray_id = now("Q-1043").tray_id
    ledger.open_tray(tray_id, act("P-41").by_id, NOW)
    ledger.put_in(tray_id, [put(lines("Q-1043")["T01"], short=True)])
    assert exchange("R01", "R04", "Q-1043", "no").result == "recorded"
    assert {one.rule for one in now("Q-1043").standing["readings"]} == {"R06"}
    outcome = exchange("T01", "T03", "Q-1043", "not needed")
    assert outcome.result == "recorded", words(outcome)
    assert "readings" not in now("Q-1043").standing
    assert following.differences()[1] == []


def test_a_measured_hole_counts_against_what_is_to_go_in() -> None:
    """T04 is T01 with a thicker post: 6.35 in the spec's hole of 6.40, and in one measured 6.36."""
    row = next(
        one for one in board.kit_rows() if one.serial == IT and one.line.article.key == "T01"
    )
    into = book.item_ids(["T04"])["T04"]
    article = book.articles([into])[into]
    tight = dataclasses.replace(
        row, now=row.now.with_readings((Reading("hole", "6", Decimal("8.60")),))
    )
    by_spec, by_hand = (
        {one.rule for one in board.exchange_outlook(one, article, into).findings}
        for one in (row, tight)
    )
    assert by_hand - by_spec == {"R06"}


def test_an_exchange_is_made_again_from_the_journal() -> None:
    exchange()
    exchange("R01", "R04", asked="not needed")
    assert following.differences()[1] == []
    before = following.picture()
    following.rebuild()
    assert following.picture() == before


# --- refused ---


def test_pins_of_five_degrees_do_not_go_into_holes_of_three() -> None:
    """Both numbers are told: 3° and 5°, 5.40 and 5.35 under the collar, which look the same."""
    outcome = exchange("P01", "P02")
    said = stopped(outcome)
    assert "R18" in rules(outcome)
    assert "Pins are 5°, holes are 3°. They look the same (5.35 and 5.4" in said
    [taper] = [one for one in outcome.findings if one.rule == "R18"]
    assert taper.then == "Leave P01 in its place, or choose other bridge pins."
    assert taper.basis is not None
    assert lines()["P01"]["reserved"] == 1


@pytest.mark.parametrize("asked", ["no", "not needed"])
def test_what_the_buyer_sees_the_buyer_is_asked_about(asked: str) -> None:
    outcome = exchange(asked=asked)
    assert stopped(outcome) == "The buyer sees it: nickel becomes gold."
    assert outcome.findings[0].then == "Ask the buyer first, then say so here."


def test_another_ratio_is_seen_too() -> None:
    assert "the ratio 18:1 becomes 15:1" in stopped(exchange("T01", "T04", asked="no"))


def test_what_the_buyer_agreed_to_is_not_exchanged() -> None:
    """Q-1044 is to have T02 in gold by order C-0417."""
    outcome = exchange("T02", "T01", "Q-1044")
    assert rules(outcome) == ["agreed"]
    assert "buyer, order C-0417" in stopped(outcome, "Q-1044")


def test_what_was_exchanged_once_is_not_exchanged_again() -> None:
    exchange()
    outcome = exchange("T02", "T01")
    assert rules(outcome) == ["agreed"]
    assert outcome.result == "refused"
    assert len(now(IT).departures) == 1


def test_nothing_of_a_sample_or_a_custom_build_is_exchanged() -> None:
    spec = book.spec_id("TARN")
    assert spec is not None
    order = "C-0500"
    ledger.book_order(order, spec, 2, NOW.date(), as_agreed=True)
    released = door.Released("Q-1067", "K-2103", "FELL", NOW.date(), NOW.date(), order=order)
    assert door.record(act("P-01", reason="so"), released).done
    assert exchange("R01", "R04", "Q-1067", "no").done, "of FELL nothing was booked as agreed"
    fell = book.spec_id("FELL")
    assert fell is not None
    ledger.book_order(order, fell, 2, NOW.date(), as_agreed=True)
    outcome = exchange("T09", "T10", "Q-1067")
    assert rules(outcome) == ["agreed"]
    assert "a sample or a custom build" in words(outcome)


def test_what_is_fitted_stays() -> None:
    outcome = exchange("T07", "T05", "Q-1049")
    assert rules(outcome) == ["fitted"]
    assert "N60 is done" in stopped(outcome, "Q-1049")


def test_what_is_in_hand_stays() -> None:
    started = door.record(act("P-11", "N"), door.StepStarted(now(IT).id, "N10"))
    assert started.done, words(started)
    it = now(IT)
    line = next(one for one in it.kit if one.article.key == "T01")
    found = stays(it, dataclasses.replace(line, used_at="N10"), (), ())
    assert found is not None
    assert found.words == f"N10 of {IT} is open with P-11: T01 is in hand."


def test_a_closed_tray_is_opened_first() -> None:
    outcome = exchange("T13", "T09", "Q-1058")
    assert rules(outcome) == ["tray"]
    assert outcome.findings[0].then == "The tray is opened again first."


def test_what_lies_in_the_tray_is_taken_out_first() -> None:
    tray = shelf.tray(now(IT).tray_id)
    assert tray is not None
    ledger.put_in(tray["id"], [put(lines()["T01"])])
    outcome = exchange()
    assert stopped(outcome) == f"T01 lies in the tray of {IT} already."
    assert lines()["T01"]["state"] == "taken"


def test_an_item_that_is_approved_already_needs_no_lead() -> None:
    line = KitLine.objects.get(kit__revision=now(IT).revision_id, item__key="R01")
    deciding.approve(line.pk, "R04", "P-01", "Tried on two", NOW.date())
    forget()
    outcome = exchange("R01", "R04", asked="no")
    assert rules(outcome) == ["approved"]
    assert "approved in the place of R01 already" in stopped(outcome)


@pytest.mark.parametrize(
    ("out", "into", "rule", "said"),
    [
        ("T09", "T10", "kit", f"T09 is not in the kit of {IT}."),
        ("T01", "T99", "item", "T99 is no item in use."),
        ("T01", "P02", "substitute", "P02 (bridge pins) cannot take the place of T01"),
        ("T01", "T01", "substitute", f"T01 is in the kit of {IT} already."),
    ],
)
def test_what_cannot_be_exchanged_at_all_is_told(out: str, into: str, rule: str, said: str) -> None:
    outcome = exchange(out, into)
    assert rules(outcome)[0] == rule
    assert said in stopped(outcome)


def test_an_item_out_of_use_does_not_go_in() -> None:
    Item.objects.filter(key="T02").update(obsolete=True)
    assert "T02 is no item in use." in stopped(exchange())


def test_it_is_not_exchanged_without_a_reason() -> None:
    assert "is exchanged for a reason" in stopped(exchange(reason=""))


def test_an_answer_that_is_none_is_not_taken_for_one() -> None:
    assert "Whether the buyer was asked is not said." in stopped(exchange(asked="perhaps"))


def test_scrap_gets_nothing_else() -> None:
    assert door.record(act("P-01", "", reason="Split"), door.Scrapped(now(IT).id)).done
    assert rules(exchange()) == ["ended"]


# --- the list of what can be ---


def test_every_line_that_is_not_fitted_is_listed_with_why_it_stays() -> None:
    rows = board.kit_rows()
    of_it = {row.line.article.key: row.kept for row in rows if row.serial == IT}
    assert set(of_it) == {line.article.key for line in now(IT).kit}
    assert set(of_it.values()) == {None}
    closed = next(r for r in rows if r.serial == "Q-1058" and r.line.article.key == "T13")
    assert closed.kept is not None
    assert closed.kept.words == "The tray of Q-1058 is closed with T13 as it is."
    agreed = next(r for r in rows if r.serial == "Q-1044" and r.line.article.key == "T02")
    assert agreed.kept is not None
    assert agreed.kept.rule == "agreed"


def test_the_outlook_of_an_item_says_what_stands_against_it_and_what_shows() -> None:
    row = next(r for r in board.kit_rows() if r.serial == IT and r.line.article.key == "T01")
    ids = book.item_ids(["T02", "T03"])
    gold, small = (
        board.exchange_outlook(row, book.articles([one])[one], one)
        for one in (ids["T02"], ids["T03"])
    )
    assert gold.shows == ("nickel becomes gold",)
    assert [one for one in gold.findings if one.severity is Severity.STOP] == []
    assert {one.rule for one in small.findings} >= {"R06"}
    assert any("8.35" in one.words for one in small.findings)
