"""The tray check, one line a screen: scanned, counted, or the bag of screws weighed."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db.models import QuerySet
from django.test import Client

from shop.craft import weighing
from shop.craft.words import THIN
from shop.floor.following import differences
from shop.floor.models import Entry
from shop.floor.verifying import verify
from shop.stock import ledger, shelf
from shop.stock.models import Lot, TrayLine
from tests.bench.screens import key, seen, signed_in, tag
from tests.floor.morning import NOW, now, pick, put
from tests.kitting.checker import (
    check,
    check_page,
    close,
    has_no_screws,
    has_screws,
    line_address,
    received,
    sent_later,
    tray_of,
)
from tests.kitting.clerk import line

pytestmark = pytest.mark.usefixtures("today")

SERIAL = "Q-1062"
WELLS = {"left": "3", "right": "3"}


@pytest.fixture
def phone() -> Client:
    """The clerk, with a tray that is picked and not checked; its machines have no screws."""
    has_no_screws("T01")
    tray = shelf.tray(now(SERIAL).tray_id)
    assert tray is not None
    ledger.put_in(tray["id"], [put(one) for one in tray["lines"]])
    return signed_in("P-41")


def lot_of(item: str) -> Lot:
    return Lot.objects.get(item__key=item)


def rows() -> QuerySet[Entry]:
    """What the journal of the instrument holds of its lines' checks."""
    return Entry.objects.filter(subject=SERIAL, kind="line check")


def checked(item: str) -> tuple[str, int | None]:
    row = line(SERIAL, item)
    return row["checked_how"], row["checked_count"]


# --- one line after another ---


def test_the_tray_asks_for_its_check_before_it_is_closed(phone: Client) -> None:
    screen = tray_of(phone, SERIAL)
    assert screen.links["Check 6 lines"] == f"/trays/{now(SERIAL).tray_code}/check/"
    assert "Close the tray" not in screen.buttons


def test_the_first_line_that_is_not_checked_comes_up_with_what_is_wanted(phone: Client) -> None:
    screen = check_page(phone, SERIAL)
    assert screen.heading == "T01"
    assert "0 of 6 checked" in screen.words
    assert screen.of_class("big")[0].startswith("1 wanted · lot ")


def test_a_line_checked_leads_to_the_next_and_the_last_back_to_the_tray(phone: Client) -> None:
    assert check(phone, SERIAL, "T01", **WELLS).heading == "N01"
    for item, following in [("N01", "S01"), ("S01", "P01"), ("P01", "E01"), ("E01", "E04")]:
        assert check(phone, SERIAL, item, count="1").heading == following
    screen = check(phone, SERIAL, "E04", count="1")
    assert screen.heading == f"Tray of {SERIAL}"
    assert "Close the tray" in screen.buttons
    assert close(phone, SERIAL).of_class("finding-clear")[0].startswith("Closed By P-41")


def test_another_line_can_be_checked_first(phone: Client) -> None:
    links = check_page(phone, SERIAL).links
    address = next(links[words] for words in links if words.startswith("P01"))
    assert address.endswith(f"/check/?line={line(SERIAL, 'P01')['id']}")
    assert check_page(phone, SERIAL, "P01").heading == "P01"


def test_the_check_of_a_tray_with_nothing_to_check_is_the_tray(phone: Client) -> None:
    pick(SERIAL)
    assert check_page(phone, SERIAL).heading == f"Tray of {SERIAL}"


@pytest.mark.parametrize(
    ("item", "said", "kept"),
    [("N01", {"count": "1"}, ("count", 1)), ("T01", WELLS, ("count", 1))],
)
def test_a_line_checked_twice_by_a_double_tap_is_checked_once_and_leads_on(
    phone: Client, item: str, said: dict[str, str], kept: tuple[str, int]
) -> None:
    check(phone, SERIAL, item, **said)
    at = line(SERIAL, item)["checked_at"]
    screen = check(phone, SERIAL, item, **said)
    assert screen.of_class("finding-stop") == []
    assert screen.heading == ("T01" if item == "N01" else "N01")
    assert checked(item) == kept
    assert line(SERIAL, item)["checked_at"] == at


def test_another_answer_for_a_line_that_is_checked_is_told(phone: Client) -> None:
    check(phone, SERIAL, "N01", count="1")
    screen = check(phone, SERIAL, "N01", count="2")
    assert "This line is checked, or not in the tray any more." in screen.words
    assert checked("N01") == ("count", 1)


def test_a_line_that_another_badge_checked_is_told(phone: Client) -> None:
    check(phone, SERIAL, "N01", count="1")
    screen = check(signed_in("P-01"), SERIAL, "N01", count="1")
    assert "This line is checked, or not in the tray any more." in screen.words
    assert line(SERIAL, "N01")["checker"] == "P-41"


def test_who_checked_a_line_stands_beside_it(phone: Client) -> None:
    check(phone, SERIAL, "N01", count="1")
    assert "counted by P-41" in tray_of(phone, SERIAL).words


# --- in the journal, once ---


def test_a_check_is_in_the_instruments_journal_with_who_how_and_of_which_lot(
    phone: Client,
) -> None:
    check(phone, SERIAL, "T01", **WELLS)
    row = rows().get()
    assert (row.who, row.station, row.at, row.outcome) == ("P-41", "K", NOW, "recorded")
    told = {name: row.data[name] for name in ("item", "lot", "how", "count", "left", "right")}
    lot = line(SERIAL, "T01")["lot_code"]
    assert told == {"item": "T01", "lot": lot, "how": "count", "count": 1, "left": 3, "right": 3}
    assert line(SERIAL, "T01")["checked_at"] == row.at


def test_a_check_reads_in_the_history_under_hardware(phone: Client) -> None:
    check(phone, SERIAL, "N01", count="1")
    screen = seen(phone.get(f"/{tag(SERIAL)}/history/?group=hardware"))
    assert "P-41 checked 1 × N01 in its tray at Kitting: counted." in screen.words


def test_the_same_key_twice_is_one_row_and_one_answer(phone: Client) -> None:
    by = key()
    first, again = (check(phone, SERIAL, "N01", key=by, count="1") for _ in range(2))
    assert first.heading == again.heading == "T01"
    assert again.of_class("finding-stop") == []
    assert rows().count() == 1


def test_the_same_answer_from_another_page_is_told_as_done_and_writes_nothing(
    phone: Client,
) -> None:
    check(phone, SERIAL, "N01", count="1")
    answer = sent_later(phone, SERIAL, "N01", key(), count="1")
    assert answer["X-Outcome"] == "already"
    assert rows().count() == 1


def test_a_key_that_comes_with_another_count_is_told_and_changes_nothing(phone: Client) -> None:
    """Section 2.7 of draft-ietf-httpapi-idempotency-key-header-07: 422."""
    by = key()
    assert sent_later(phone, SERIAL, "N01", by, count="1")["X-Outcome"] == "recorded"
    other = sent_later(phone, SERIAL, "N01", by, count="2")
    assert (other.status_code, other["X-Outcome"]) == (422, "refused")
    screen = check(phone, SERIAL, "N01", key=by, count="2")
    assert "This entry carries the key of another one." in screen.words
    assert checked("N01") == ("count", 1)


def test_a_count_that_is_out_of_step_leaves_no_row_and_the_right_one_can_follow(
    phone: Client,
) -> None:
    by = key()
    screen = check(phone, SERIAL, "N01", key=by, count="2")
    assert "N01: 2 counted, 1 wanted." in screen.of_class("finding-stop")[0]
    assert (checked("N01"), rows().count()) == (("", None), 0)
    check(phone, SERIAL, "N01", key=by, count="1")
    assert (checked("N01"), rows().count()) == (("count", 1), 1)


def test_a_form_without_a_key_checks_nothing(phone: Client) -> None:
    sent = {"line": str(line(SERIAL, "N01")["id"]), "count": "1"}
    assert phone.post(f"/trays/{now(SERIAL).tray_code}/check/", sent).status_code == 400
    assert checked("N01") == ("", None)


def test_both_forms_of_the_page_carry_the_key_and_say_what_waits(phone: Client) -> None:
    """One page asks one thing: counted or scanned, it is one act."""
    screen = check_page(phone, SERIAL, "N01")
    forms = [one for one in screen.root.iter("form") if "data-outbox" in one.attrib]
    about = now(SERIAL).tray_code
    told = {tuple(one.get(f"data-{name}") for name in ("about", "serial", "says")) for one in forms}
    assert told == {(about, SERIAL, "Check N01")}
    keys = [one.get("value") for one in screen.root.iter("input") if one.get("name") == "key"]
    assert (len(forms), len(keys), len(set(keys))) == (2, 2, 1)


def test_the_floor_made_again_from_its_journal_is_the_same_after_a_check(phone: Client) -> None:
    check(phone, SERIAL, "T01", **WELLS)
    check(phone, SERIAL, "N01", count="1")
    assert verify(lambda words: None).wrong == 0
    assert differences()[1] == []
    assert checked("N01") == ("count", 1)


# --- counted ---


def test_no_answer_is_given_before_anybody_counted(phone: Client) -> None:
    """Every number can be tapped and none is chosen: a count is worth what was counted."""
    screen = check_page(phone, SERIAL)
    taps = [one for one in screen.root.iter("input") if one.get("type") == "radio"]
    assert len(taps) == 16
    assert [one for one in taps if "checked" in one.attrib] == []
    counts = check_page(phone, SERIAL, "N01").root.iter("button")
    assert [one.get("value") for one in counts if one.get("name") == "count"] == [
        str(count) for count in range(13)
    ]


@pytest.mark.parametrize("count", ["0", "2", "1000"])
def test_a_count_that_is_not_what_is_wanted_is_told_with_both_numbers(
    phone: Client, count: str
) -> None:
    screen = check(phone, SERIAL, "N01", count=count)
    assert f"N01: {count} counted, 1 wanted." in screen.of_class("finding-stop")[0]
    assert screen.heading == "N01"
    assert checked("N01") == ("", None)


@pytest.mark.parametrize("count", ["", "six", "-1", "1.0", "\N{SUPERSCRIPT ONE}", "9" * 10])
def test_a_count_that_is_none_checks_nothing(phone: Client, count: str) -> None:
    screen = check(phone, SERIAL, "N01", count=count)
    assert "Count the pieces, then tap how many there are." in screen.words
    assert checked("N01") == ("", None)


def test_machines_are_counted_well_by_well_as_seen_from_the_front(phone: Client) -> None:
    legends = [one.text for one in check_page(phone, SERIAL).root.iter("legend")]
    assert legends == ["L well, seen from the front", "R well, seen from the front"]
    check(phone, SERIAL, "T01", **WELLS)
    assert checked("T01") == ("count", 1)
    assert (line(SERIAL, "T01")["left_counted"], line(SERIAL, "T01")["right_counted"]) == (3, 3)


def test_machines_in_the_wrong_wells_are_not_checked_and_both_counts_told(phone: Client) -> None:
    screen = check(phone, SERIAL, "T01", left="2", right="4")
    [told] = screen.of_class("finding-stop")
    assert "2 left and 4 right counted. T01 has 3 left and 3 right, seen from the front." in told
    assert checked("T01") == ("", None)
    chosen = [one for one in screen.root.iter("input") if "checked" in one.attrib]
    assert [(one.get("name"), one.get("value")) for one in chosen] == [
        ("left", "2"), ("right", "4"),
    ]  # fmt: skip


def test_one_well_alone_is_no_count(phone: Client) -> None:
    assert "Count both wells" in check(phone, SERIAL, "T01", left="3").words
    assert checked("T01") == ("", None)


def test_wells_put_right_replace_what_was_noted_at_the_bin(phone: Client) -> None:
    row = line(SERIAL, "T01")
    wrong = ledger.PutIn(row["id"], row["item_id"], 2, 4, lot_id=row["lot_id"])
    ledger.put_in(now(SERIAL).tray_id, [wrong])
    check(phone, SERIAL, "T01", **WELLS)
    assert (line(SERIAL, "T01")["left_counted"], line(SERIAL, "T01")["right_counted"]) == (3, 3)
    assert line(SERIAL, "T01")["lot_id"] == row["lot_id"]
    assert checked("T01") == ("count", 1)


def test_wells_stay_as_they_were_where_the_check_is_refused(
    phone: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody takes the line out between the page and the tap."""
    row = line(SERIAL, "T01")
    wrong = ledger.PutIn(row["id"], row["item_id"], 2, 4, lot_id=row["lot_id"])
    ledger.put_in(now(SERIAL).tray_id, [wrong])

    def gone(*_: object) -> None:
        raise ledger.OutOfStep("T01 is not in the tray. Take it, or leave it short.")

    monkeypatch.setattr(ledger, "check_line", gone)
    screen = check(phone, SERIAL, "T01", **WELLS)
    assert "T01 is not in the tray." in screen.of_class("finding-stop")[0]
    assert (line(SERIAL, "T01")["left_counted"], line(SERIAL, "T01")["right_counted"]) == (2, 4)
    assert not rows().exists()


# --- scanned ---


def test_the_label_of_its_lot_checks_a_line(phone: Client) -> None:
    check(phone, SERIAL, "N01", code=f"LOT {lot_of('N01').pk}")
    assert checked("N01") == ("scan", 1)


def test_the_label_of_another_lot_is_told_and_checks_nothing(phone: Client) -> None:
    other = received("N01", 5, "31-09B")
    screen = check(phone, SERIAL, "N01", code=f"LOT {other.pk}")
    [told] = screen.of_class("finding-stop")
    assert "This is N01 lot 31-09B." in told
    assert f"N01 of lot {lot_of_line('N01')} lies here" in told
    assert checked("N01") == ("", None)


def lot_of_line(item: str) -> str:
    return str(line(SERIAL, item)["lot_code"])


def test_the_label_of_another_item_is_told_by_its_name(phone: Client) -> None:
    screen = check(phone, SERIAL, "N01", code=f"LOT {lot_of('N02').pk}")
    assert "This is N02 lot " in screen.of_class("finding-stop")[0]


@pytest.mark.parametrize("text", ["Q-1043", "LOT 99999999", "https://elsewhere/LOT/x", "A-01"])
def test_what_is_no_lots_label_is_told_and_checks_nothing(phone: Client, text: str) -> None:
    screen = check(phone, SERIAL, "N01", code=text)
    assert f"{text} is no lot's label." in screen.of_class("finding-stop")[0]
    assert checked("N01") == ("", None)


def test_a_set_of_machines_is_not_checked_by_its_label_alone(phone: Client) -> None:
    screen = check(phone, SERIAL, "T01", code=f"LOT {lot_of('T01').pk}")
    assert "Now count the machines in the wells." in screen.words
    assert checked("T01") == ("", None)


# --- the bag of screws ---


def test_the_bag_is_weighed_and_its_count_told_with_its_uncertainty(phone: Client) -> None:
    """(2.96 - 1.20) / 0.25 is 7.04 screws."""
    has_screws("T01")
    screen = check(phone, SERIAL, "T01", gross="2.96", **WELLS)
    [told] = screen.of_class("finding-clear")[:1]
    by_hand = weighing.count(Decimal("2.96"), Decimal("1.20"), Decimal("0.25"), Decimal("0.004"))
    assert by_hand.value == Decimal("7.04")
    assert f"Screws: {by_hand.words}" in told
    assert "7.04 ±" in told
    assert checked("T01") == ("weigh", 1)


def test_a_comma_is_read_as_the_point_of_a_weight(phone: Client) -> None:
    has_screws("T01")
    check(phone, SERIAL, "T01", gross="2,96", **WELLS)
    assert checked("T01") == ("weigh", 1)


def test_a_screw_short_by_weight_is_told_and_what_was_entered_stays(phone: Client) -> None:
    """(2.70 - 1.20) / 0.25 is 6."""
    has_screws("T01")
    screen = check(phone, SERIAL, "T01", gross="2.70", **WELLS)
    [told] = screen.of_class("finding-stop")
    assert "6 pieces (6.00 ±" in told
    assert "7 wanted. Put 1 in, then check the bag again." in told
    assert checked("T01") == ("", None)
    assert screen.one(".//input[@id='gross']").get("value") == "2.70"
    assert len([one for one in screen.root.iter("input") if "checked" in one.attrib]) == 2


def test_a_screw_too_many_is_taken_out(phone: Client) -> None:
    has_screws("T01")
    screen = check(phone, SERIAL, "T01", screws="8", **WELLS)
    assert "8 screws counted. 7 wanted. Take 1 out" in screen.words


def test_a_doubtful_weight_is_asked_again_and_is_no_check(phone: Client) -> None:
    """(2.83 - 1.20) / 0.25 is 6.52: neither 6 nor 7."""
    has_screws("T01")
    screen = check(phone, SERIAL, "T01", gross="2.83", **WELLS)
    assert "6.52 ±" in screen.of_class("finding-stop")[0]
    assert checked("T01") == ("", None)


def test_a_weight_below_the_empty_bag_is_told(phone: Client) -> None:
    has_screws("T01")
    screen = check(phone, SERIAL, "T01", gross="0.9", **WELLS)
    assert f"0.9{THIN}g is less than the empty bag" in screen.answer.content.decode()
    assert checked("T01") == ("", None)


def test_what_is_no_weight_is_told(phone: Client) -> None:
    has_screws("T01")
    assert "heavy is no number." in check(phone, SERIAL, "T01", gross="heavy", **WELLS).words


def test_machines_alone_do_not_check_a_set_with_screws(phone: Client) -> None:
    has_screws("T01")
    assert "Weigh the bag of screws, or count them." in check(phone, SERIAL, "T01", **WELLS).words
    assert checked("T01") == ("", None)


def test_screws_can_be_counted_where_there_is_no_scale(phone: Client) -> None:
    has_screws("T01")
    check(phone, SERIAL, "T01", screws="7", **WELLS)
    assert checked("T01") == ("count", 1)


def test_a_weight_of_screws_that_were_never_weighed_is_no_count(phone: Client) -> None:
    ledger.keep_rule(
        line(SERIAL, "T01")["item_id"], small_parts=7, unit_g=None, unit_sd_g=None, bag_g=None
    )
    screen = check_page(phone, SERIAL)
    assert screen.root.find(".//input[@id='gross']") is None
    assert "Count the screws." in check(phone, SERIAL, "T01", gross="2.96", **WELLS).words
    assert checked("T01") == ("", None)


# --- what changes meanwhile ---


def test_a_line_changed_after_its_check_is_checked_again(phone: Client) -> None:
    check(phone, SERIAL, "N01", count="1")
    phone.post(line_address(SERIAL, "N01"), {"said": "taken", "item": "N01"})
    assert checked("N01") == ("", None)


def test_what_went_in_after_the_page_was_drawn_is_not_checked_by_it(phone: Client) -> None:
    """Tapped without the network, another part exchanged meanwhile: nobody looked at that."""
    lies = check_page(phone, SERIAL, "N01").form(f"/trays/{now(SERIAL).tray_code}/check/")["lies"]
    other = received("N01", 5, "31-09B")
    row = line(SERIAL, "N01")
    ledger.put_in(now(SERIAL).tray_id, [ledger.PutIn(row["id"], row["item_id"], lot_id=other.pk)])
    answer = sent_later(
        phone, SERIAL, "N01", key(), waited=timedelta(hours=1), lies=lies, count="1"
    )
    assert answer["X-Outcome"] == "refused"
    assert "N01 went in after this line was looked at." in answer.json()["words"][0]
    assert checked("N01") == ("", None)
    assert rows().get().outcome == "refused"


def test_a_line_taken_out_meanwhile_is_told_in_the_answer_itself(phone: Client) -> None:
    ledger.put_in(now(SERIAL).tray_id, [put(line(SERIAL, "N01"), short=True)])
    answer = sent_later(phone, SERIAL, "N01", key(), count="1")
    assert answer["X-Outcome"] == "refused"
    assert "This line is checked, or not in the tray any more." in answer.json()["words"][0]
    assert not rows().exists()


def test_what_comes_too_late_for_a_closed_tray_is_told_on_the_trays_page(phone: Client) -> None:
    pick(SERIAL)
    close(phone, SERIAL)
    screen = check(signed_in("P-01"), SERIAL, "N01", count="1")
    assert screen.heading == f"Tray of {SERIAL}"
    [told] = screen.of_class("finding-stop")
    assert "This line is checked, or not in the tray any more." in told


def test_a_line_taken_out_is_told_in_the_answer_where_nothing_is_left_to_check(
    phone: Client,
) -> None:
    """A phone that sent it later reads no page that it would be led on to."""
    pick(SERIAL, short=("N01",))
    answer = sent_later(phone, SERIAL, "N01", key(), count="1")
    assert answer["X-Outcome"] == "refused"
    assert "This line is checked, or not in the tray any more." in answer.json()["words"][0]


def test_machines_counted_for_a_line_that_is_gone_are_not_offered_for_the_next(
    phone: Client,
) -> None:
    """The second T01, of another bag: nobody counted that yet."""
    first = line(SERIAL, "T01")
    TrayLine.objects.create(
        tray_id=now(SERIAL).tray_id, item_id=first["item_id"], part=2, quantity=1,
        state="taken", put_in_id=first["item_id"], lot_id=first["lot_id"],
    )  # fmt: skip
    check(phone, SERIAL, "T01", **WELLS)
    screen = check(signed_in("P-01"), SERIAL, "T01", **WELLS)
    assert "This line is checked, or not in the tray any more." in screen.words
    assert screen.heading == "T01"
    assert [one for one in screen.root.iter("input") if "checked" in one.attrib] == []


def test_a_count_written_for_a_line_that_is_gone_is_not_offered_for_the_next(
    phone: Client,
) -> None:
    check(phone, SERIAL, "T01", **WELLS)
    check(phone, SERIAL, "S01", count="1")
    TrayLine.objects.filter(pk=line(SERIAL, "N01")["id"]).update(quantity=13)
    screen = check(phone, SERIAL, "S01", count="2")
    assert screen.heading == "N01"
    assert screen.one(".//input[@name='count']").get("value") == ""


def test_the_check_of_a_closed_tray_is_the_tray(phone: Client) -> None:
    pick(SERIAL)
    close(phone, SERIAL)
    assert check(phone, SERIAL, "N01", count="1").heading == f"Tray of {SERIAL}"


def test_a_large_count_is_written(phone: Client) -> None:
    TrayLine.objects.filter(pk=line(SERIAL, "N01")["id"]).update(quantity=13)
    screen = check_page(phone, SERIAL, "N01")
    assert screen.one(".//input[@name='count']").get("type") == "text"
    refused = check(phone, SERIAL, "N01", count="12")
    assert "N01: 12 counted, 13 wanted." in refused.words
    assert refused.one(".//input[@name='count']").get("value") == "12"
    check(phone, SERIAL, "N01", count="13")
    assert checked("N01") == ("count", 13)


def test_an_operator_checks_no_tray(phone: Client) -> None:
    address = f"/trays/{now(SERIAL).tray_code}/check/"
    assert signed_in("P-11").get(address).status_code == 403
