"""A slot of the rack by its label: what lies there, a case put in, moved, taken out; and the
slots themselves as the lead keeps them.

That a case moved from slot to slot changes nothing in its days is common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from shop.craft.code import check_character, pretty
from shop.floor import board, door
from shop.floor.models import Entry, Slot
from tests.bench.screens import Screen, key, said, seen, signed_in, tag
from tests.floor.casing import CASED, HOUR, READY, SERIAL, cased, done, looked, number, ready
from tests.floor.morning import NOW, act, now
from tests.floor.printed import paper
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

FREE, TAKEN = "H-001", "H-014"  # the case of Q-1038 lies in the second
NOBODYS = "H12347" + check_character("H12347")  # a code on no label


@pytest.fixture
def phone() -> Client:
    return signed_in("P-31")


def label(code: str) -> str:
    """The code on the label of a slot."""
    return board.slots_by_code([code])[code].tag


def lies_in(code: str) -> str:
    return board.slots_by_code([code])[code].serial


def rack_it(phone: Client, serial: str = SERIAL, **sent: str) -> Any:
    sent.setdefault("key", key())
    return phone.post(f"/{tag(serial)}/rack/", sent)


def told(answer: Any) -> str:
    """The one stop that is said."""
    [found] = seen(answer).of_class("finding-stop")
    return found


# --- a label is scanned ---


@pytest.mark.parametrize("code", [FREE, TAKEN])
def test_a_slots_label_scanned_leads_to_its_page(phone: Client, code: str) -> None:
    for written in (label(code), pretty(label(code)), f"http://testserver/{label(code)}"):
        assert phone.post("/scan/", {"code": written})["Location"] == f"/rack/{code}/"
    assert phone.get(f"/{label(code)}")["Location"] == f"/rack/{code}/"


def test_a_label_of_no_slot_is_told_as_before(phone: Client) -> None:
    assert "no slot of the hold rack carries it" in told(phone.post("/scan/", {"code": NOBODYS}))


def test_a_slots_label_scanned_for_a_tray_says_what_it_is() -> None:
    bench = signed_in("P-11")
    answer = bench.post(f"/{tag('Q-1043')}/tray/", {"code": label(FREE), "key": key()})
    assert answer.status_code == 200
    assert "Stop" in seen(answer).words


# --- what lies there ---


def test_a_slot_says_whose_case_lies_in_it_and_how_its_days_stand(phone: Client) -> None:
    screen = seen(phone.get("/rack/H-027/"))
    assert screen.heading == "The case of Q-1040 lies here"
    assert "due today, ready Mon 10:30" in screen.words
    assert "To be looked at again on Mon 2031-03-03." in screen.words
    assert screen.links["To Q-1040"] == f"/{tag('Q-1040')}"


def test_from_the_slot_what_happens_to_the_case_is_told_where_its_effect_is_shown(
    phone: Client,
) -> None:
    links = seen(phone.get("/rack/H-027/")).links
    code = tag("Q-1040")
    assert links["Its case is opened, or shut again"] == f"/{code}/case/"
    moved = links["It moves to another rack"]
    assert moved == f"/{code}/happened/?what=rack"
    assert links["Something happened"] == f"/{code}/happened/"
    assert links["It moves to another slot"] == f"/{code}/rack/"
    assert "The days in the case go on." in seen(phone.get(moved)).words


def test_a_case_that_was_looked_at_again_is_moved_and_not_opened(today: Clock) -> None:
    cased()
    done(door.Racked(number(), FREE), CASED + HOUR, "P-31", "H")
    assert looked(READY + HOUR).done
    today.now = READY + 2 * HOUR
    screen = seen(signed_in("P-31").get(f"/rack/{FREE}/"))
    assert "looked at again, waits for its release" in screen.words
    assert "It moves to another slot" in screen.links
    assert "Its case is opened, or shut again" not in screen.links


def test_a_free_slot_asks_for_a_case(phone: Client) -> None:
    screen = seen(phone.get(f"/rack/{FREE}/"))
    assert screen.of_class("slot-name") == [f"Slot {FREE}"]
    assert screen.heading == "Put a case here: scan the card on it, or the tag of the guitar"
    assert screen.one(".//input[@name='code']").get("required") is not None


def test_a_retired_slot_takes_no_case(phone: Client) -> None:
    door.record(act("P-01", ""), door.SlotsKept(retire=(FREE,)))
    screen = seen(phone.get(f"/rack/{FREE}/"))
    assert screen.heading == "This slot is retired"
    assert screen.root.find(".//input[@name='code']") is None


@pytest.mark.parametrize("path", ["H-999", "h-001", "H-001%00", "H-1"])
def test_a_slot_that_there_is_not_is_not_found(phone: Client, path: str) -> None:
    assert phone.get(f"/rack/{path}/").status_code == 404


# --- a case is put there ---


@pytest.mark.parametrize("by", ["tag", "card"])
def test_a_case_scanned_at_a_free_slot_is_shown_before_it_is_said_to_lie_there(
    phone: Client, by: str
) -> None:
    cased()
    code = tag(SERIAL) if by == "tag" else paper(SERIAL)
    before = Entry.objects.count()
    screen = seen(phone.post(f"/rack/{FREE}/", {"code": code}))
    assert screen.heading == f"{SERIAL} into slot {FREE}?"
    assert "held until Fri 14:10" in screen.words
    assert "Racked" in screen.buttons
    assert Entry.objects.count() == before
    assert lies_in(FREE) == ""


def test_one_tap_then_says_that_it_lies_there(phone: Client) -> None:
    cased()
    page = seen(phone.post(f"/rack/{FREE}/", {"code": tag(SERIAL)}))
    way = f"/{tag(SERIAL)}/rack/"
    answer = phone.post(way, page.form(way))
    assert answer["Location"] == f"{way}?in={FREE}"
    assert f"The case of {SERIAL} lies in slot {FREE}." in seen(phone.get(answer["Location"])).words
    assert lies_in(FREE) == SERIAL
    assert ready(NOW) == READY, "its days run on"


def test_a_case_that_lies_elsewhere_says_which_slot_becomes_free(phone: Client) -> None:
    screen = seen(phone.post(f"/rack/{FREE}/", {"code": tag("Q-1038")}))
    assert f"It lies in slot {TAKEN}, which is free then." in screen.words
    rack_it(phone, "Q-1038", slot=FREE)
    assert (lies_in(FREE), lies_in(TAKEN)) == ("Q-1038", "")


def test_what_is_no_instrument_scanned_at_a_slot_says_what_it_is(phone: Client) -> None:
    answer = phone.post(f"/rack/{FREE}/", {"code": label(TAKEN)})
    assert answer.status_code == 422
    assert f"This is slot {TAKEN} of the hold rack" in told(answer)
    assert "Nothing was read" in told(phone.post(f"/rack/{FREE}/", {"code": " "}))


def test_an_instrument_that_is_not_cased_is_told_so_before_the_tap_and_refused_after_it(
    phone: Client,
) -> None:
    screen = seen(phone.post(f"/rack/{FREE}/", {"code": tag(SERIAL)}))
    assert "It is not cased yet" in screen.words
    answer = rack_it(phone, slot=FREE)
    assert answer.status_code == 422
    assert f"{SERIAL} is not cased yet" in told(answer)
    assert lies_in(FREE) == ""


# --- from the instrument: scan the slot ---


@pytest.mark.parametrize("written", ["tag", "pretty", "address", "name", "small name", "short"])
def test_a_case_goes_in_by_its_slots_label_or_name(phone: Client, written: str) -> None:
    cased()
    text = {
        "tag": label(FREE),
        "pretty": pretty(label(FREE)),
        "address": f"http://testserver/{label(FREE)}",
        "name": FREE,
        "small name": "h-001",
        "short": "h1",
    }[written]
    assert rack_it(phone, code=text).status_code == 302
    assert lies_in(FREE) == SERIAL


def test_the_page_has_a_field_for_the_slot_that_may_wait_on_the_phone(phone: Client) -> None:
    cased()
    screen = seen(phone.get(f"/{tag(SERIAL)}/rack/"))
    assert screen.heading == "Scan the label of the slot"
    assert "In no slot of the hold rack." in screen.words
    form = screen.one(f".//form[@action='/{tag(SERIAL)}/rack/']")
    assert form.get("data-outbox") is not None
    assert form.get("data-about") == tag(SERIAL)
    assert screen.form(f"/{tag(SERIAL)}/rack/")["key"]


def test_a_code_out_of_a_photo_waits_for_a_tap(phone: Client) -> None:
    cased()
    screen = seen(phone.get(f"/{tag(SERIAL)}/rack/", {"code": label(FREE)}))
    assert "Racked" in screen.buttons
    assert lies_in(FREE) == ""


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (TAKEN, "The case of Q-1038 lies in slot H-014"),
        ("H-999", "There is no slot H-999 in the hold rack."),
        ("body", "This is a body tag, not the label of a slot."),
        (NOBODYS, "no slot of the hold rack carries it"),
        ("H12345", "a code has 7"),
    ],
)
def test_a_slot_that_takes_no_case_says_why_and_asks_again(
    phone: Client, text: str, words: str
) -> None:
    cased()
    answer = rack_it(phone, code=tag("Q-1043") if text == "body" else text)
    assert answer.status_code == 422
    assert words in told(answer)
    assert seen(answer).one(".//input[@name='code']").get("required") is not None
    assert now(SERIAL).slot == ""


def test_the_same_tap_sent_twice_is_one_row(phone: Client) -> None:
    cased()
    by = key()
    for _ in range(2):
        assert rack_it(phone, key=by, slot=FREE).status_code == 302
    assert Entry.objects.filter(key=by).count() == 1


def test_what_a_phone_kept_is_put_there_once_it_is_sent(phone: Client) -> None:
    """draft-ietf-httpapi-idempotency-key-header-07: the key in a header of its own."""
    cased()
    by = key()
    answer = phone.post(
        f"/{tag(SERIAL)}/rack/",
        {"key": by, "code": label(FREE), "clock": NOW.isoformat()},
        headers={"Idempotency-Key": f'"{by}"', "X-Phone-Sent": NOW.isoformat()},
    )
    assert answer["X-Outcome"] == "recorded"
    assert answer["X-Next"] == f"/{tag(SERIAL)}/rack/?in={FREE}"
    assert lies_in(FREE) == SERIAL


def test_who_prints_is_led_to_the_card_for_the_case() -> None:
    cased()
    lead = signed_in("P-01")
    screen = seen(lead.get(rack_it(lead, slot=FREE)["Location"]))
    assert screen.links["Print the card for its case"] == (
        f"/paper/look/?form=hold_card&serial={SERIAL}"
    )
    inspector = seen(signed_in("P-31").get(f"/{tag(SERIAL)}/rack/"))
    assert "Print the card for its case" not in inspector.links


# --- and taken out ---


def test_a_case_taken_out_leaves_its_slot_free(phone: Client) -> None:
    page = seen(phone.get(f"/rack/{TAKEN}/"))
    way = f"/{tag('Q-1038')}/rack/out/"
    assert f"Taken out: {TAKEN} is free" in page.buttons
    answer: Any = phone.post(way, page.form(way))
    assert "The case of Q-1038 was taken out of the rack." in seen(phone.get(answer.url)).words
    assert lies_in(TAKEN) == ""


def test_what_lies_in_no_slot_is_not_taken_out(phone: Client) -> None:
    cased()
    answer = phone.post(f"/{tag(SERIAL)}/rack/out/", {"key": key()})
    assert answer.status_code == 422
    assert f"{SERIAL} lies in no slot of the hold rack." in told(answer)


# --- on the page of the instrument ---


def test_the_instrument_says_in_which_slot_its_case_lies(phone: Client) -> None:
    screen = seen(phone.get(f"/{tag('Q-1040')}"))
    assert screen.links["H-027"] == "/rack/H-027/"
    assert "Put the case in the rack" not in screen.links


def test_a_cased_instrument_in_no_slot_leads_to_the_rack(phone: Client) -> None:
    cased()
    screen = seen(phone.get(f"/{tag(SERIAL)}"))
    assert screen.links["Put the case in the rack"] == f"/{tag(SERIAL)}/rack/"
    assert "Put the case in the rack" not in seen(phone.get(f"/{tag('Q-1043')}")).links


# --- the slots as the lead keeps them ---


@pytest.fixture
def lead() -> Client:
    return signed_in("P-01")


def keep(lead: Client, do: str, **sent: Any) -> Screen:
    return seen(lead.post("/rack/slots/", {"key": key(), "do": do} | sent, follow=True))


def test_slots_are_put_up_after_the_last_one_and_their_labels_are_one_tap_away(
    lead: Client,
) -> None:
    screen = keep(lead, "up", up="3")
    assert "3 slots put up after the last one." in screen.of_class("finding-clear")[0]
    assert "113 slots in use" in screen.words
    assert screen.links["Print 3 labels"] == (
        "/paper/look/?form=slot_label&serial=H-111&serial=H-112&serial=H-113"
    )


@pytest.mark.parametrize(
    ("up", "fault"),
    [
        ("", "Write a whole number of slots, 1 to 999."),
        ("some", "Write a whole number of slots, 1 to 999."),
        ("0", "Write a whole number of slots, 1 to 999."),
        ("950", "The rack takes up to 999. Put up fewer."),
    ],
)
def test_slots_that_cannot_be_put_up_are_said(lead: Client, up: str, fault: str) -> None:
    screen = keep(lead, "up", up=up)
    assert any(fault in one for one in screen.of_class("finding-stop"))
    assert Slot.objects.count() == 110


def test_free_slots_are_retired_and_taken_back(lead: Client) -> None:
    screen = keep(lead, "retire", slot=["H-001", "H-002"])
    assert "Retired: H-001 and H-002." in screen.of_class("finding-clear")[0]
    assert "108 slots in use" in screen.words
    assert "2 retired: take some back into use" in screen.words
    screen = keep(lead, "back", slot=["H-001"])
    assert "Back in use: H-001." in screen.of_class("finding-clear")[0]
    assert [one.code for one in board.slots()][:2] == ["H-001", "H-003"]


def test_a_slot_with_a_case_in_it_is_not_offered_and_not_retired(lead: Client) -> None:
    screen = seen(lead.get("/rack/slots/"))
    offered = [one.get("value") for one in screen.root.iter("input") if one.get("name") == "slot"]
    assert len(offered) == 108
    assert TAKEN not in offered
    refused = keep(lead, "retire", slot=[TAKEN])
    assert f"The case of Q-1038 lies in slot {TAKEN}." in refused.of_class("finding-stop")[0]
    assert not board.slots_by_code([TAKEN])[TAKEN].retired


@pytest.mark.parametrize("slot", [[], ["elsewhere"], ["H-001\0"]])
def test_nothing_ticked_is_said(lead: Client, slot: list[str]) -> None:
    screen = keep(lead, "retire", slot=slot)
    assert "No slot is put up, retired or taken back into use." in screen.words


def test_labels_of_any_slots_are_chosen_at_the_printer(lead: Client) -> None:
    links = seen(lead.get("/rack/slots/")).links
    assert links["Choose slots to print labels of"] == "/paper/?form=slot_label"


@pytest.mark.parametrize("new", ["H-109", "H-999", "elsewhere", "\0"])
def test_an_address_with_any_slot_in_it_asks_for_no_more_than_there_are(
    lead: Client, new: str
) -> None:
    screen = seen(lead.get("/rack/slots/", {"new": new}))
    assert ("Print 2 labels" in screen.links) == (new == "H-109")


@pytest.mark.parametrize("badge", ["P-11", "P-25", "P-31", "P-41", "P-61"])
def test_nobody_but_the_lead_keeps_the_slots(badge: str) -> None:
    phone = signed_in(badge)
    assert phone.get("/rack/slots/").status_code == 403
    assert "Put up, retire, label slots" not in seen(phone.get(f"/rack/{FREE}/")).links


def test_what_is_done_at_the_rack_goes_through_the_one_door(phone: Client, lead: Client) -> None:
    cased()
    rack_it(phone, slot=FREE)
    phone.post(f"/{tag(SERIAL)}/rack/out/", {"key": key()})
    keep(lead, "up", up="1")
    kinds = Entry.objects.order_by("-pk").values_list("kind", flat=True)[:3]
    assert list(kinds) == [door.SlotsKept.kind, door.Unracked.kind, door.Racked.kind]


def test_a_slot_page_asks_a_few_statements(
    phone: Client, django_assert_max_num_queries: Any
) -> None:
    phone.get(f"/rack/{TAKEN}/")
    with django_assert_max_num_queries(12):
        assert said(seen(phone.get(f"/rack/{TAKEN}/")).one(".//h1"))
