"""A defect told by taps on the phone: family, word, zone, loop, and one button."""

from __future__ import annotations

from typing import Any

import pytest

from shop.catalogue.models import Loop
from shop.craft.rework import WORDS, suggested
from shop.craft.words import THIN
from shop.craft.zones import PLACES, ZONES
from shop.floor import board, door
from tests.bench.screens import Screen, key, seen, signed_in, tag
from tests.floor.casing import CASED, HOUR, SERIAL, cased, done, number
from tests.floor.morning import NOW, now
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")


def page(query: str = "", badge: str = "P-22", station: str = "A") -> Screen:
    return seen(signed_in(badge, station).get(f"/{tag(SERIAL)}/defect/{query}"))


def told(**fields: str) -> Any:
    """The last page sent from the phone of who sets up."""
    fields.setdefault("key", key())
    return signed_in("P-22", "A").post(f"/{tag(SERIAL)}/defect/", fields)


def costs(screen: Screen) -> str:
    return screen.of_class("costs")[0].replace(THIN, " ")


LIFT = {"family": "joint", "word": "lift", "zone": "5", "loop": "bridge lift"}
CHIP = {"family": "finish", "word": "chip", "zone": "1", "loop": "finish chip"}


# --- question by question ---


def test_first_the_family_is_asked_each_with_some_of_its_words() -> None:
    screen = page()
    assert screen.heading == "What is wrong with it?"
    assert len(screen.of_class("answers")) == 1
    for family in WORDS:
        assert f"?family={family}" in " ".join(screen.links.values())
    assert "chip, crack, check" in screen.words


@pytest.mark.parametrize("family", WORDS)
def test_then_every_word_of_the_family(family: str) -> None:
    links = page(f"?family={family}").links
    for word in WORDS[family]:
        assert word[0].upper() + word[1:] in links


def test_then_the_zone_of_sixteen_or_none() -> None:
    """The zones are common practice, no source."""
    links = page("?family=joint&word=lift").links
    assert [one for one in links if one[:1].isdigit()] == [
        f"{number} {name[0].upper()}{name[1:]}"
        for zones in ZONES.values()
        for number, name in zones
    ]
    assert len(PLACES) == 16
    assert "At no one place" in links


def test_a_paper_is_at_no_zone_but_its_own() -> None:
    assert page("?family=paper").links["Wrong label"].endswith("word=wrong%20label&zone=16")


def test_a_word_that_leads_to_one_loop_asks_for_no_loop() -> None:
    screen = page("?family=joint&word=lift&zone=5")
    assert screen.heading == "Lift, zone 5 bridge"
    assert "Send it to Repair" in screen.buttons


def test_a_word_that_leads_to_several_offers_them_likeliest_first() -> None:
    links = list(page("?family=setup&word=buzz&zone=0").links)
    titles = [Loop.objects.get(key=one).title for one in suggested("buzz", "setup")]
    places = [links.index(one) for one in titles]
    assert places == sorted(places)
    assert len(titles) == 3


def test_something_else_may_make_it_good_but_never_the_loop_of_a_fall() -> None:
    screen = page("?family=joint&word=lift&zone=5")
    other = screen.links["Something else makes it good"]
    links = seen(signed_in("P-22", "A").get(other)).links
    assert "Crack or loose brace" in links
    assert "Dropped" not in links
    chosen = seen(signed_in("P-22", "A").get(links["Crack or loose brace"]))
    assert "Glue and clamp it" in costs(chosen)


def test_a_loop_that_is_chosen_no_more_is_not_offered() -> None:
    Loop.objects.filter(key="bridge lift").update(active=False)
    screen = page("?family=joint&word=lift&zone=5")
    assert "Bridge lift" not in screen.links
    assert "Send it to Repair" not in screen.buttons


@pytest.mark.parametrize(
    ("query", "back"),
    [
        ("", "/{tag}/happened/"),
        ("?family=joint", "/{tag}/defect/"),
        ("?family=joint&word=lift", "/{tag}/defect/?family=joint"),
        ("?family=joint&word=lift&zone=5", "/{tag}/defect/?family=joint&word=lift"),
        (
            "?family=setup&word=buzz&zone=5&loop=fret",
            "/{tag}/defect/?family=setup&word=buzz&zone=5",
        ),
    ],
)
def test_one_step_back_takes_the_last_answer_back(query: str, back: str) -> None:
    assert page(query).links["One step back"] == back.format(tag=tag(SERIAL))


@pytest.mark.parametrize(
    "query",
    ["?family=glue", "?word=lift", "?family=&word=&zone=", "?zone=5&loop=fret", "?family=<b>"],
)
def test_what_an_address_cannot_mean_is_asked_from_the_start(query: str) -> None:
    assert page(query).heading == "What is wrong with it?"


def test_a_word_of_another_family_is_asked_again() -> None:
    assert page("?family=fret&word=lift").heading == "Which one?"
    assert page("?family=joint&word=lift&zone=17").heading == "Lift: where?"


# --- what it costs ---


def test_what_a_bridge_lift_costs_is_told_before_it_is_reported(today: Clock) -> None:
    cased()
    today.now = CASED + HOUR
    said = costs(page("?family=joint&word=lift&zone=5"))
    assert "Goes to Repair, about 60 min: Warm the bridge off" in said
    assert "Then again: G20, G30, G40, G50, U30, A30, I10 and I20." in said
    assert "The 96 h in the case begin again." in said


def test_a_chip_lets_the_days_stand_still(today: Clock) -> None:
    cased()
    today.now = CASED + HOUR
    said = costs(page("?family=finish&word=chip&zone=1"))
    assert "the days in the case stand still while it is out" in said
    assert "begin again" not in said


def test_before_the_case_nothing_is_said_of_its_days() -> None:
    assert "days" not in costs(page("?family=finish&word=chip&zone=1"))
    assert "begin again" not in costs(page("?family=joint&word=lift&zone=5"))


def test_what_the_page_says_is_done_again_is_what_is_done_again(today: Clock) -> None:
    cased()
    today.now = CASED + HOUR
    said = costs(page("?family=joint&word=lift&zone=5"))
    told(**LIFT)
    rework = now(SERIAL).rework
    assert rework is not None
    *most, last = rework.redo
    assert f"Then again: {', '.join(most)} and {last}." in said


def test_a_rod_that_does_nothing_names_the_lead() -> None:
    said = costs(page("?family=wood&word=twist&zone=2"))
    assert "Neck and body may come apart for good: the lead decides." in said


def test_what_is_on_a_loop_already_says_that_both_go_as_one() -> None:
    done(door.DefectFound(number(), "lift", "bridge lift"), NOW, "P-22")
    assert "It is on a loop since Mon 09:30" in costs(page("?family=finish&word=chip&zone=1"))


def test_a_step_that_was_begun_is_said_to_be_put_down() -> None:
    done(door.StepStarted(number(), "I10"), NOW, "P-31", "I")
    assert "I10, begun by P-31, is put down." in costs(page("?family=joint&word=lift&zone=5"))


# --- the one button ---


def test_the_button_sends_it_to_repair_with_word_and_place() -> None:
    assert told(**LIFT).url.startswith(f"/{tag(SERIAL)}?after=")
    rework = now(SERIAL).rework
    assert rework is not None
    assert (rework.loop, rework.words, rework.stage) == (
        "bridge lift",
        "lift, zone 5 bridge",
        "repair",
    )
    row = board.journal(number(), 1)[0]
    assert (row["kind"], row["by__code"], row["station"]) == ("defect", "P-22", "A")


def test_a_word_of_two_families_is_told_with_its_own() -> None:
    told(family="fret", word="loose", zone="2", loop="fret")
    rework = now(SERIAL).rework
    assert rework is not None
    assert rework.words == "loose, fret, zone 2 neck and frets"


def test_at_no_one_place_says_no_place() -> None:
    told(family="setup", word="high action", zone="0", loop="set-up")
    rework = now(SERIAL).rework
    assert rework is not None
    assert rework.words == "high action"


def test_a_fill_is_asked_how_deep_and_says_how_long_each_dries() -> None:
    """Common practice, no source: 24 h for each 0.2 mm."""
    depths = [
        one.replace(THIN, " ") for one in page("?family=finish&word=chip&zone=1").of_class("tap")
    ]
    assert depths == [
        "0.2 mm dries 24 h",
        "0.4 mm dries 48 h",
        "0.6 mm dries 72 h",
        "0.8 mm dries 96 h",
        "1 mm dries 120 h",
    ]


def test_a_fill_is_recorded_with_its_depth() -> None:
    assert told(**CHIP, depth="0.4").status_code == 302
    row = board.journal(number(), 1)[0]
    assert (row["data"]["depth_mm"], row["data"]["dries_h"]) == ("0.4", 48)


@pytest.mark.parametrize("depth", ["", "0.3", "deep", "-0.4"])
def test_a_fill_of_no_depth_is_asked_again_and_nothing_is_lost(depth: str) -> None:
    answer = told(**CHIP, depth=depth)
    assert answer.status_code == 422
    screen = seen(answer)
    assert "Tap the depth." in screen.words
    sent = screen.form(f"/{tag(SERIAL)}/defect/")
    assert {name: sent[name] for name in CHIP} == CHIP
    assert now(SERIAL).rework is None


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"family": "glue", "loop": "fret"}, "is no word for a defect"),
        (LIFT | {"loop": "mending"}, "mending is no rework loop here."),
    ],
)
def test_what_no_tap_can_have_sent_is_refused_in_words(fields: dict[str, str], words: str) -> None:
    screen = seen(told(**fields))
    assert screen.heading == "Stop"
    assert words in screen.words
    assert now(SERIAL).rework is None


def test_the_same_report_sent_twice_is_one() -> None:
    phone, sent = signed_in("P-22", "A"), LIFT | {"key": key()}
    first: Any = phone.post(f"/{tag(SERIAL)}/defect/", sent)
    again: Any = phone.post(f"/{tag(SERIAL)}/defect/", sent)
    assert first.url == again.url
    assert len(board.loops_of(number())) == 1


@pytest.mark.parametrize("badge", ["P-41", "P-25"])
def test_who_may_not_report_a_defect_is_told_so(badge: str) -> None:
    assert signed_in(badge, "N").get(f"/{tag(SERIAL)}/defect/").status_code == 403


# --- where it is inspected ---


@pytest.mark.parametrize(("badge", "station"), [("P-31", "I"), ("P-32", "R"), ("P-01", "I")])
def test_who_grades_defects_notes_it_with_its_class_where_a_look_is_taken(
    badge: str, station: str
) -> None:
    """What is serious takes a reason and two badges: common practice, no source."""
    way, phone = f"/{tag(SERIAL)}/defect/", signed_in(badge, station)
    led: Any = phone.get(way)
    assert (led.status_code, led["Location"]) == (302, f"/{tag(SERIAL)}/defects/new/")
    refused: Any = phone.post(way, CHIP | {"key": key()})
    screen = seen(refused)
    assert f"A defect is noted with its class where {SERIAL} is inspected." in screen.words
    assert screen.links["Note the defect"] == f"/{tag(SERIAL)}/defects/new/"
    assert now(SERIAL).rework is None


def test_elsewhere_and_by_others_it_is_reported_as_ever() -> None:
    assert page(badge="P-31", station="A").heading == "What is wrong with it?"
    assert page(badge="P-22", station="I").heading == "What is wrong with it?"
