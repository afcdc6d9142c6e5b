"""Releasing work to the floor: what is missing is said first, and what was typed stays."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.test import Client

from shop.floor import board, door
from shop.floor.models import Body, Entry, Instrument, Permit
from shop.stock import ledger, shelf
from shop.stock.models import Lot
from tests.bench.screens import Screen, key, said, seen, signed_in, tag
from tests.floor import around
from tests.floor.morning import NOW, act, now
from tests.paper.phones import printed_from
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

PRINTS = {"Traveller", "Body tag", "Neck tag", "Tray label"}
# A body and a neck that wait in the demo's store, made for each other.
PAIR = {"body": "Q-1067", "neck": "K-2103", "spec": "FELL"}
DAYS = {"due_on": "2031-03-20", "release_on": "2031-03-05"}


@pytest.fixture
def phone() -> Client:
    return signed_in("P-01")


def send(phone: Client, **more: str) -> Any:
    return phone.post("/release/", {"key": key()} | PAIR | DAYS | more, follow=True)


def release(phone: Client, **more: str) -> Screen:
    return seen(send(phone, **more))


def is_released(serial: str = "Q-1067") -> bool:
    return Instrument.objects.filter(body__serial=serial).exists()


def promise_away(item: str) -> None:
    """Nothing of this item is free any more."""
    lot = Lot.objects.get(item__key=item)
    ledger.promise(lot.pk, lot.on_hand - lot.reserved, NOW, "invented for this test")


def typed(screen: Screen) -> dict[str, str]:
    """What stands in the fields of the page."""
    texts = {
        one.get("name", ""): one.get("value", "")
        for one in screen.root.iter("input")
        if one.get("type") in {"text", "date"}
    }
    ticked = {
        one.get("name", ""): "on" for one in screen.root.iter("input") if "checked" in one.attrib
    }
    chosen = {
        select.get("name", ""): one.get("value", "")
        for select in screen.root.iter("select")
        for one in select.iter("option")
        if "selected" in one.attrib
    }
    return texts | ticked | chosen


# --- what is missing ---


def test_the_page_offers_the_bodies_and_necks_that_wait(phone: Client) -> None:
    screen = seen(phone.get("/release/"))
    body, neck = (screen.one(f".//select[@name='{part}']") for part in ("body", "neck"))
    assert said(body) == "Q-1060 VOE Q-1067 FELL"
    assert said(neck) == "K-2099 TARN K-2103 FELL"


def test_the_days_are_proposed_release_tomorrow_due_two_weeks_later(phone: Client) -> None:
    fields = typed(seen(phone.get("/release/")))
    assert (fields["release_on"], fields["due_on"]) == ("2031-03-04", "2031-03-18")


def test_without_a_body_in_store_the_page_counts_what_is_there_and_says_what_to_do(
    phone: Client,
) -> None:
    for deed in (
        door.PartArrived("neck", "K-2110", "VOE"),
        door.Released("Q-1060", "K-2110", "VOE", due_on=NOW.date(), release_on=NOW.date()),
        door.Released("Q-1067", "K-2103", "FELL", due_on=NOW.date(), release_on=NOW.date()),
    ):
        assert door.record(act("P-01", reason="so"), deed).done
    screen = seen(phone.get("/release/"))
    [told] = screen.of_class("finding-stop")
    assert "In store: 0 bodies and 1 neck." in told
    assert "book the missing part in" in told
    assert "Release" not in screen.buttons


def test_a_neck_of_another_spec_is_named_with_both_specs(phone: Client) -> None:
    screen = release(phone, neck="K-2099")
    [told] = screen.of_class("finding-stop")
    assert "Neck K-2099 was made as TARN, not FELL." in told
    assert not is_released()


def test_a_body_of_another_spec_is_named_with_both_specs(phone: Client) -> None:
    [told] = release(phone, body="Q-1060").of_class("finding-stop")
    assert "Body Q-1060 was made as VOE, not FELL." in told


def test_everything_that_is_missing_is_said_at_once(phone: Client) -> None:
    told = release(phone, body="Q-1060", neck="K-2099", due_on="2031-03-01").of_class(
        "finding-stop"
    )
    assert len(told) == 3
    assert "Due 2031-03-01, but released 2031-03-05." in told[2]


def test_a_body_that_was_released_meanwhile_is_not_to_choose_any_more(phone: Client) -> None:
    [told] = release(phone, body="Q-1043").of_class("finding-stop")
    assert told == "Q-1043 is no body to choose any more. Choose one of the list."


def test_what_was_typed_stays_when_something_is_missing(phone: Client) -> None:
    given = {"neck": "K-2099", "order": "C-0500", "urgent": "on", "words_0": "Initials inside"}
    fields = typed(release(phone, **given, approved_0="buyer, order C-0500"))
    kept = PAIR | DAYS | given | {"approved_0": "buyer, order C-0500"}
    assert {name: fields.get(name) for name in kept} == kept


def test_a_refused_release_is_kept_in_the_journal(phone: Client) -> None:
    release(phone, neck="K-2099")
    row = Entry.objects.filter(subject="Q-1067", kind="release").latest("id")
    assert (row.outcome, row.findings[0]["rule"]) == ("refused", "neck")


# --- short of a part ---


def test_a_part_that_is_short_is_told_with_its_numbers_and_a_reason_is_asked(
    phone: Client,
) -> None:
    promise_away("T09")
    screen = release(phone)
    [told] = screen.of_class("finding-warn")
    assert "T09 three-on-a-plate set, solid head: 0 free, 1 needed." in told
    assert "Why release it so?" in screen.words
    assert not is_released()


def test_with_a_reason_it_is_released_and_the_tray_shows_the_line_short(phone: Client) -> None:
    promise_away("T09")
    release(phone, reason="Start without them; the tray follows")
    tray = shelf.tray(now("Q-1067").tray_id)
    assert tray is not None
    bare = [one["article"].key for one in tray["lines"] if not one["reserved"]]
    assert bare == ["T09"]


def test_the_clerk_sees_the_short_line_of_the_release(phone: Client) -> None:
    promise_away("T09")
    release(phone, reason="Start without them; the tray follows", release_on="2031-03-04")
    rows = seen(signed_in("P-41").get("/trays/")).of_class("tray-row")
    assert "Short: T09" in next(row for row in rows if "Q-1067" in row)


# --- released ---


def test_a_released_instrument_is_shown_with_its_spec_neck_and_days(phone: Client) -> None:
    screen = release(phone)
    assert screen.heading == "Q-1067 is released"
    assert (
        "FELL revision 1 · neck K-2103 · due Thu 2031-03-20 · to the bench Wed 2031-03-05"
        in screen.words
    )


def test_a_released_instrument_stands_on_the_floor_under_its_tag(phone: Client) -> None:
    release(phone, order="C-0500", urgent="on")
    found = board.by_tag(tag("Q-1067"))
    assert found is not None
    assert (found.order, found.urgent, found.done) == ("C-0500", True, ())


@pytest.mark.parametrize("form", sorted(PRINTS))
def test_each_paper_of_a_released_instrument_is_one_tap_away(phone: Client, form: str) -> None:
    links = release(phone).links
    assert set(links) >= PRINTS
    assert printed_from(phone, links[form]).startswith(b"%PDF")


def test_the_same_tap_sent_twice_releases_once_and_shows_the_same_page(phone: Client) -> None:
    by = key()
    first, again = (release(phone, key=by) for _ in range(2))
    assert first.words == again.words
    assert Entry.objects.filter(key=by).count() == 1


def test_an_instrument_that_was_never_released_has_no_such_page(phone: Client) -> None:
    assert phone.get("/release/Q-1067/").status_code == 404


def test_only_a_lead_releases() -> None:
    assert send(signed_in("P-11")).status_code == 403
    assert not is_released()


# --- departing from the spec ---

GOLD = {
    "words_0": "Gold machines",
    "out_0": "E04",
    "in_0": "E07",
    "approved_0": "buyer, order C-0500",
}


def test_a_deviation_is_boxed_with_who_agreed(phone: Client) -> None:
    assert release(phone, **GOLD).of_class("boxed") == ["Gold machines (buyer, order C-0500)"]


def test_a_deviation_puts_the_other_item_into_the_tray(phone: Client) -> None:
    release(phone, **GOLD)
    tray = shelf.tray(now("Q-1067").tray_id)
    assert tray is not None
    keys = {one["article"].key for one in tray["lines"]}
    assert "E07" in keys
    assert "E04" not in keys


def test_a_deviation_may_be_words_alone(phone: Client) -> None:
    release(phone, words_2="Initials inside", approved_2="buyer, order C-0500")
    assert [one.words for one in now("Q-1067").departures] == ["Initials inside"]


@pytest.mark.parametrize(
    ("left_out", "asked"),
    [
        ("words_0", "Say in words what departs from the spec."),
        ("approved_0", "Name who agreed, and on which order."),
        ("in_0", "Name both: the item left out and the one put in."),
    ],
)
def test_half_a_deviation_is_asked_to_be_made_whole(
    phone: Client, left_out: str, asked: str
) -> None:
    screen = release(phone, **{**GOLD, left_out: ""})
    assert screen.of_class("finding-stop") == [asked]
    assert "open" in screen.one(".//details").attrib
    assert not is_released()


def test_an_item_that_is_not_in_the_kit_cannot_be_left_out(phone: Client) -> None:
    [told] = release(phone, **{**GOLD, "out_0": "T01"}).of_class("finding-stop")
    assert "T01 is not in this kit, so nothing can take its place." in told


# --- going abroad ---

WOODS = ("Dalbergia nigra", "Dalbergia cochinchinensis")


@pytest.fixture
def _abroad(today: Clock) -> None:
    """FELL is built of two woods that need a paper; their names are real, the build is not."""
    around.bare()
    around.built_of(*WOODS, spec="FELL")


def note(phone: Client, number: str = "N-4471/31", wood: str = WOODS[0], by: str = "") -> Screen:
    sent = {"key": by or key(), "wood": wood, "number": number}
    return seen(phone.post("/release/Q-1067/paper/", sent, follow=True))


@pytest.mark.usefixtures("_abroad")
def test_a_guitar_released_to_another_country_is_shown_the_papers_it_needs(phone: Client) -> None:
    screen = release(phone, destination="Norway")
    assert now("Q-1067").destination == "Norway"
    assert "goes to Norway" in screen.words
    assert "Papers for Norway" in screen.words
    boxes = screen.of_class("boxed")
    assert [wood for wood in WOODS if any(wood in one for one in boxes)] == list(WOODS)
    assert all("No paper noted yet" in one for one in boxes)


@pytest.mark.usefixtures("_abroad")
def test_a_guitar_that_stays_here_is_asked_for_no_papers(phone: Client) -> None:
    screen = release(phone)
    assert "Papers for" not in screen.words
    assert screen.of_class("boxed") == []


@pytest.mark.usefixtures("_abroad")
def test_a_noted_paper_stands_at_its_wood_and_leaves_the_other_open(phone: Client) -> None:
    release(phone, destination="Norway")
    screen = note(phone)
    assert "N-4471/31 is noted for Dalbergia nigra." in screen.of_class("finding-clear")[0]
    by_wood = {wood: box for box in screen.of_class("boxed") for wood in WOODS if wood in box}
    assert "Paper N-4471/31" in by_wood[WOODS[0]]
    assert "No paper noted yet" in by_wood[WOODS[1]]


@pytest.mark.usefixtures("_abroad")
def test_a_paper_that_is_refused_keeps_what_was_typed(phone: Client) -> None:
    release(phone, destination="Norway")
    screen = note(phone, "N" * 41, WOODS[1])
    [told] = screen.of_class("finding-stop")
    assert "A number has 1 to 40 letters, digits and signs in one line." in told
    typed_in = {
        one.get("value") for one in screen.root.iter("input") if one.get("name") == "number"
    }
    assert typed_in == {None, "N" * 41}


@pytest.mark.usefixtures("_abroad")
def test_the_same_paper_sent_twice_is_noted_once(phone: Client) -> None:
    release(phone, destination="Norway")
    by = key()
    first, again = (note(phone, by=by) for _ in range(2))
    assert first.words == again.words
    assert Entry.objects.filter(key=by).count() == 1


def test_a_paper_of_an_instrument_that_is_not_here_is_not_found(phone: Client) -> None:
    assert phone.post("/release/Q-9999/paper/", {"key": key()}).status_code == 404


@pytest.mark.usefixtures("_abroad")
def test_nobody_but_a_lead_notes_a_paper(phone: Client) -> None:
    release(phone, destination="Norway")
    sent = {"key": key(), "wood": WOODS[0], "number": "N-1"}
    assert signed_in("P-41").post("/release/Q-1067/paper/", sent).status_code == 403
    assert not Permit.objects.exists()


# --- arrivals ---


def arrive(phone: Client, **more: str) -> Screen:
    sent = {"key": key(), "part": "body", "serial": "Q-1070", "spec": "TARN"} | more
    return seen(phone.post("/arrivals/", sent, follow=True))


def test_a_body_that_is_booked_in_waits_in_store(phone: Client) -> None:
    screen = arrive(phone)
    assert "Q-1070 is booked in." in screen.of_class("finding-clear")[0]
    assert "Body Q-1070 TARN 2031-03-03" in screen.of_class("ledger")[0]


def test_a_neck_that_is_booked_in_can_be_released_at_once(phone: Client) -> None:
    arrive(phone, part="neck", serial="K-2110", spec="VOE")
    release(phone, body="Q-1060", neck="K-2110", spec="VOE")
    assert is_released("Q-1060")


@pytest.mark.parametrize(("part", "serial"), [("body", "Q-1043"), ("neck", "K-2081")])
def test_a_mark_that_is_here_already_is_refused(phone: Client, part: str, serial: str) -> None:
    [told] = arrive(phone, part=part, serial=serial).of_class("finding-stop")
    assert f"{part.capitalize()} {serial} is here already." in told
    assert "two parts never share a number" in told


@pytest.mark.parametrize("serial", ["1043", "Q1043", "Q-43", "q-1043", "Q-1043; x"])
def test_a_mark_that_is_misread_is_shown_how_marks_look(phone: Client, serial: str) -> None:
    screen = arrive(phone, serial=serial)
    assert screen.of_class("finding-stop") == [
        "A letter, a dash and four to six digits, as Q-1043."
    ]
    assert typed(screen)["serial"] == serial


def test_the_same_arrival_sent_twice_is_one_part(phone: Client) -> None:
    by = key()
    first, again = (arrive(phone, key=by) for _ in range(2))
    assert first.words == again.words
    assert Entry.objects.filter(key=by).count() == 1


def test_the_day_of_a_bodys_last_coat_is_kept_with_it(phone: Client) -> None:
    arrive(phone, coated_on="2031-02-17")
    assert Body.objects.get(serial="Q-1070").coated_on == date(2031, 2, 17)


def test_a_day_that_is_not_known_is_left_empty(phone: Client) -> None:
    arrive(phone)
    assert Body.objects.get(serial="Q-1070").coated_on is None


def test_a_coat_still_to_come_is_refused_and_what_was_typed_stays(phone: Client) -> None:
    screen = arrive(phone, coated_on="2031-03-04")
    [told] = screen.of_class("finding-stop")
    assert "Last coat 2031-03-04, but today is 2031-03-03" in told
    assert typed(screen)["coated_on"] == "2031-03-04"
    assert not Body.objects.filter(serial="Q-1070").exists()


def test_a_day_that_is_no_day_is_shown_how_days_are_written(phone: Client) -> None:
    screen = arrive(phone, coated_on="last week")
    assert screen.of_class("finding-stop") == ["Write the day as 2031-03-14, or leave it empty."]
