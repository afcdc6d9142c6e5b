"""The receiving table: lots in words, one lot measured, held and given free.

That a lot with one piece out of its size is held: common practice, no source.
"""

from __future__ import annotations

import csv
import io
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from shop.people.models import Badge
from shop.stock import ledger
from shop.stock.models import Lot, LotCheck, LotHold
from tests.bench.screens import Screen, seen, signed_in
from tests.floor.morning import NOW, pick
from tests.kitting.clerk import close, tray_page, walk

pytestmark = pytest.mark.usefixtures("today")

POST = "post_mm"  # of T03: 6 mm, nothing declared, so 5.95 to 6.05
WHY = "Plating is spotted or scratched"


@pytest.fixture
def phone() -> Client:
    return signed_in("P-41")


def lot(key: str = "T03") -> Lot:
    return Lot.objects.get(item__key=key)


def page(phone: Client, key: str = "T03") -> Screen:
    return seen(phone.get(f"/lots/{lot(key).pk}/"))


def measure(phone: Client, *values: str, key: str = "T03", **more: Any) -> Screen:
    sent = {"dimension": POST, "value": list(values), "after": "0"} | more
    return seen(phone.post(f"/lots/{lot(key).pk}/", sent, follow=True))


def decide(phone: Client, what: str, key: str = "T03", **sent: str) -> Screen:
    return seen(phone.post(f"/lots/{lot(key).pk}/{what}/", sent, follow=True))


def hold(key: str = "T03") -> None:
    ledger.hold(lot(key).pk, WHY, Badge.objects.get(code="P-41").pk, NOW)


def statements(phone: Client, path: str) -> int:
    """How many statements a page takes, the stations of the strip being known already."""
    phone.get(path)
    with CaptureQueriesContext(connection) as asked:
        phone.get(path)
    return len(asked)


def checked(key: str = "T03") -> list[tuple[Decimal, bool]]:
    return list(lot(key).checks.values_list("value_mm", "inside"))


# --- the list ---


def rows(screen: Screen) -> list[str]:
    return [one for one in screen.links if " lot " in one]


def test_every_lot_stands_on_the_list_with_its_bin_and_what_is_free(phone: Client) -> None:
    screen = seen(phone.get("/lots/"))
    assert len(rows(screen)) == Lot.objects.count()
    [told] = screen.words.split("T03 lot")[1:]
    assert "A-03" in told[:120]
    assert "6 of 6" in told[:120]


def test_held_lots_come_first_with_their_reason(phone: Client) -> None:
    hold("T07")
    screen = seen(phone.get("/lots/"))
    assert rows(screen)[0].startswith("T07 lot")
    assert f"Held: {WHY}" in screen.words


def test_the_list_narrows_to_lots_with_all_of_the_words(phone: Client) -> None:
    hold("T07")
    found = rows(seen(phone.get("/lots/", {"words": "HELD t07"})))
    assert [one.split()[0] for one in found] == ["T07"]
    nothing = seen(phone.get("/lots/", {"words": "held T03"}))
    assert rows(nothing) == []
    assert "No lot has all of these words." in nothing.words


def test_the_list_comes_as_csv_narrowed_by_the_same_words(phone: Client) -> None:
    hold("T07")
    answer = phone.get("/lots/list.csv", {"words": "held"})
    assert answer["Content-Type"].startswith("text/csv")
    [row] = csv.DictReader(io.StringIO(answer.content.decode()))
    assert (row["item"], row["free"], row["held"]) == ("T07", "0", WHY)


@pytest.mark.parametrize("more", [0, 30])
def test_the_list_takes_three_statements_for_any_number_of_lots(phone: Client, more: int) -> None:
    """Badge and rights, and the lots."""
    item = lot().item_id
    for number in range(more):
        ledger.receive(item, "Y-01", f"lot {number}", 1, date(2031, 1, 1), NOW)
    assert statements(phone, "/lots/") == 3


# --- measuring ---


def test_each_dimension_is_shown_with_the_size_it_has_to_be(phone: Client) -> None:
    words = page(phone).words.replace("\u202f", " ")
    assert "Post 6 ± 0.05 mm, common practice" in words
    assert "Button width 15.5 ± 0.05 mm" in words
    assert "Between posts" not in words


def test_strings_have_nothing_to_measure_and_say_so(phone: Client) -> None:
    screen = page(phone, "R01")
    assert "Nothing on a piece of R01 is measured with a calliper." in screen.words
    assert "Record" not in screen.buttons


def test_pieces_inside_their_size_are_recorded_with_comma_or_point(phone: Client) -> None:
    screen = measure(phone, "6,01", "5.99", "")
    assert "2 pieces measured, inside the size." in screen.of_class("finding-clear")[0]
    assert checked() == [(Decimal("6.010"), True), (Decimal("5.990"), True)]
    assert "P-41, Mon 2031-03-03 09:30" in screen.words


def test_the_dimension_stays_chosen_for_the_next_pieces(phone: Client) -> None:
    screen = measure(phone, "6.01")
    chosen = [one for one in screen.root.iter("input") if "checked" in one.attrib]
    assert [one.get("value") for one in chosen] == [POST]


def test_a_piece_out_of_its_size_holds_the_lot_and_says_by_how_much(phone: Client) -> None:
    screen = measure(phone, "6.00", "6.20")
    told = [one.replace("\u202f", " ") for one in screen.of_class("finding-stop")]
    assert "1 of 2 pieces out of size. The whole lot is held." in told[0]
    assert "Post 6.2 mm: 0.15 mm over the 5.95–6.05 of T03." in told[1]
    assert "Put the whole lot aside and call the lead." in told[1]
    assert lot().held.startswith("Post 6.2")


@pytest.mark.parametrize(
    ("values", "told"),
    [
        (["6.00", "x"], "x is no number. Write it as 8.73 or 8,73."),
        (["6.00", "-6"], "\u22126 mm cannot be. Measure again."),
        (["6.00", "0"], "0 mm cannot be. Measure again."),
        (["6.00", "0.0001"], "0.0001 mm cannot be. Measure again."),
        (["6.00", "99999"], "99999 mm cannot be. Measure again."),
        (["", ""], "Write down at least one piece."),
    ],
)
def test_a_value_that_cannot_be_says_so_and_what_was_typed_stays(
    phone: Client, values: list[str], told: str
) -> None:
    screen = measure(phone, *values)
    assert told in " ".join(screen.of_class("finding-stop")).replace("\u202f", " ")
    fields = [one for one in screen.root.iter("input") if one.get("name") == "value"]
    assert [one.get("value") for one in fields] == values
    assert not LotCheck.objects.exists()


def test_without_a_dimension_nothing_is_recorded_and_what_was_typed_stays(phone: Client) -> None:
    screen = measure(phone, "6.00", dimension="")
    assert "Choose what you measured." in screen.of_class("finding-stop")[0]
    fields = [one for one in screen.root.iter("input") if one.get("name") == "value"]
    assert fields[0].get("value") == "6.00"
    assert not LotCheck.objects.exists()


def test_a_figure_far_off_is_asked_again_before_it_holds_a_lot(phone: Client) -> None:
    screen = measure(phone, "60", "6.00")
    assert "60 mm? Post of T03 is 5.95–6.05." in screen.of_class("finding-warn")[0].replace(
        "\u202f", " "
    )
    assert "I measured again: it is so" in screen.words
    assert (lot().held, LotCheck.objects.count()) == ("", 0)
    measure(phone, "60", "6.00", sure="1")
    assert [inside for _, inside in checked()] == [False, True]
    assert lot().held


def test_the_same_tap_sent_twice_is_recorded_once(phone: Client) -> None:
    for _ in range(2):
        assert "1 piece measured" in measure(phone, "6.00").of_class("finding-clear")[0]
    assert len(checked()) == 1


def test_a_measured_lot_is_no_longer_said_to_be_unmeasured(phone: Client) -> None:
    assert "T03" in str(rows(seen(phone.get("/lots/", {"words": "unmeasured"}))))
    measure(phone, "6.00")
    assert "T03" not in str(rows(seen(phone.get("/lots/", {"words": "unmeasured"}))))


@pytest.mark.parametrize("pieces", [1, 40])
def test_a_lots_page_takes_seven_statements_for_any_number_of_pieces(
    phone: Client, pieces: int
) -> None:
    """Badge and rights, and the five of the lot."""
    by = Badge.objects.get(code="P-41").pk
    ledger.measure(lot().pk, [(POST, Decimal(7))] * pieces, by, timezone.now())
    assert statements(phone, f"/lots/{lot().pk}/") == 7


# --- held and free ---


def test_the_clerk_holds_a_lot_with_a_tap(phone: Client) -> None:
    screen = decide(phone, "hold", why=WHY)
    assert "is held. Nobody picks from it." in screen.of_class("finding-clear")[0]
    assert lot().held == WHY


def test_words_of_ones_own_count_before_the_tap(phone: Client) -> None:
    decide(phone, "hold", why=WHY, words="Boxes wet")
    assert lot().held == "Boxes wet"


def test_without_a_reason_no_lot_is_held(phone: Client) -> None:
    assert "Say why it is held." in decide(phone, "hold").of_class("finding-stop")[0]
    assert lot().held == ""


def test_only_the_lead_gives_a_lot_free_again(phone: Client) -> None:
    hold()
    assert phone.post(f"/lots/{lot().pk}/free/", {"why": "It is taken"}).status_code == 403
    assert "Give it free" not in page(phone).buttons
    lead = signed_in("P-01")
    assert "Give it free" in page(lead).buttons
    screen = decide(lead, "free", why="Measured again, it is inside")
    assert "is free to pick again." in screen.of_class("finding-clear")[0]
    assert lot().held == ""
    kept = [(one.held, one.by.code) for one in LotHold.objects.all()]
    assert kept == [(True, "P-41"), (False, "P-01")]
    assert "Free: Measured again, it is inside P-01" in screen.words


def test_a_lot_freed_twice_says_so(phone: Client) -> None:
    screen = decide(signed_in("P-01"), "free", why="Looked at")
    assert "is free already. Nothing more to do." in screen.of_class("finding-stop")[0]


def test_an_operator_measures_no_lot() -> None:
    phone = signed_in("P-11")
    assert phone.get("/lots/").status_code == 403
    assert phone.post(f"/lots/{lot().pk}/", {"dimension": POST, "value": "7"}).status_code == 403
    assert not LotCheck.objects.exists()


def test_a_lot_that_never_was_is_not_found(phone: Client) -> None:
    assert phone.get("/lots/0/").status_code == 404
    assert phone.post("/lots/0/hold/", {"why": WHY}).status_code == 404


# --- the trays ---


def test_a_held_lot_lists_the_trays_that_have_it(phone: Client) -> None:
    """T01: Q-1043 has it in a closed tray, Q-1062 has it reserved."""
    hold("T01")
    buttons = page(phone, "T01").buttons
    assert "Q-1062: 1 reserved" in buttons
    assert "Q-1043: 1 closed" in buttons
    assert buttons.index("Q-1062: 1 reserved") < buttons.index("Q-1043: 1 closed")


def test_a_tray_shows_what_was_reserved_on_a_held_lot_as_short_with_the_reason(
    phone: Client,
) -> None:
    hold("T01")
    code = lot("T01").code
    words = seen(phone.get("/trays/")).words
    assert "Short: T01" in words
    assert f"Lot {code} is held: {WHY}." in words
    assert f"Lot {code} is held: {WHY}." in tray_page(phone, "Q-1062").words


def test_the_walk_says_that_the_lot_is_held(phone: Client) -> None:
    hold("T01")
    places = [walk(phone, "Q-1062", passed=place) for place in range(12)]
    told = next(one.words for one in places if one.heading == "no bin")
    assert f"is held: {WHY}." in told
    assert "1 short here" in told


def test_what_is_taken_at_no_bin_does_not_close_the_tray(phone: Client) -> None:
    pick("Q-1062")
    hold("T01")
    screen = close(phone, "Q-1062")
    assert f"is held: {WHY}." in " ".join(screen.of_class("finding-stop"))
    assert f"is held: {WHY}." in screen.words


# --- batteries ---


def test_the_clerk_notes_the_date_of_a_lot_of_batteries(phone: Client) -> None:
    assert "Date printed on the batteries" in page(phone, "V01").words
    screen = decide(phone, "best-before", "V01", best_before="2034-03-31")
    assert "Best before 2034-03-31." in screen.of_class("finding-clear")[0]
    assert lot("V01").best_before == date(2034, 3, 31)


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("31/3/34", "31/3/34 is no date. Write it as 2034-03-31."),
        ("", "Nothing is no date."),
        ("2031-03-02", "2031-03-02 is past."),
    ],
)
def test_a_date_that_cannot_be_says_so_and_keeps_the_old_one(
    phone: Client, typed: str, told: str
) -> None:
    before = lot("V01").best_before
    screen = decide(phone, "best-before", "V01", best_before=typed)
    assert told in screen.of_class("finding-stop")[0]
    assert lot("V01").best_before == before


def test_what_is_no_battery_is_asked_for_no_date(phone: Client) -> None:
    assert "Date printed on the batteries" not in page(phone).words
    screen = decide(phone, "best-before", best_before="2034-03-31")
    assert "is no battery: it needs no date." in screen.of_class("finding-stop")[0]
