"""The nut's page: places, files and depths, of what was measured and of what is typed.

Figures are those of the core's own tests, worked by hand there.
"""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

import pytest
from django.test import Client

from shop.people.models import Badge
from tests.bench.screens import Screen, seen, signed_in, tag
from tests.floor.gauged import gauge, measures
from tests.floor.morning import check_tray
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

READ = {"6": "0.52", "5": "0.50", "4": "0.50", "3": "0.45", "2": "0.35", "1": "0.30"}


@pytest.fixture
def phone(today: Clock) -> Client:
    return signed_in("P-11")


def page(phone: Client, serial: str = "Q-1043", **typed: str) -> Screen:
    sent = {name.replace("_", " "): value for name, value in typed.items()}
    return seen(phone.get(f"/{tag(serial)}/set-up/nut/?{urlencode(sent)}"))


def table(screen: Screen, number: int) -> list[list[str]]:
    """The rows of the page's table of this number."""
    found = screen.root.findall(".//table")[number]
    return [
        [" ".join("".join(cell.itertext()).split()) for cell in row] for row in found.iter("tr")
    ]


def test_the_topics_lead_to_the_nut(phone: Client) -> None:
    screen = seen(phone.get(f"/{tag('Q-1043')}/set-up/"))
    assert any(words.startswith("Nut ") for words in screen.links)


def test_six_places_by_equal_gaps(phone: Client) -> None:
    """Own computation: nut 44.5, margins 3.2, the set of the kit in hundredths of an inch."""
    screen = page(phone)
    assert "Gap between two strings: 6.71 mm" in screen.words
    rows = table(screen, 0)
    assert [row[0] for row in rows[1:]] == ["6", "5", "4", "3", "2", "1"]
    assert [row[1] for row in rows[1:]] == [
        "3.87 mm", "11.79 mm", "19.44 mm", "26.86 mm", "34.08 mm", "41.15 mm",
    ]  # fmt: skip
    assert rows[1][2] == "1.40 mm to 1.50 mm"


def test_a_left_handed_nut_is_drawn_the_other_way_round(phone: Client) -> None:
    right, left = page(phone), page(phone, "Q-1055")
    assert "1 2 3 4 5 6" in drawn(left)
    assert "6 5 4 3 2 1" in drawn(right)


def drawn(screen: Screen) -> str:
    return "".join(screen.one(".//desc").itertext())


def test_twelve_strings_stand_in_pairs(phone: Client) -> None:
    screen = page(phone, "Q-1058")
    assert "Gap between two pairs:" in screen.words
    assert len(table(screen, 0)) == 13
    assert "higher" in table(screen, 0)[1][2]


def test_other_margins_move_the_strings(phone: Client) -> None:
    rows = table(page(phone, bass="3.0"), 0)
    assert rows[1][1] == "3.67 mm"


def test_a_margin_too_small_is_told(phone: Client) -> None:
    assert "2.5 mm at the bass edge" in page(phone, bass="2.5").words


def test_before_anything_is_read_no_cut_is_shown_but_the_feelers_are(phone: Client) -> None:
    measures("U10", "first_fret")
    rows = table(page(phone), 1)
    assert all(row[1] == "not read" and row[2] == "–" for row in rows[1:])
    assert all(row[3].endswith(" mm") for row in rows[1:])


def test_a_reading_over_fret_1_becomes_a_cut(phone: Client) -> None:
    """c1 0.52, wanted 0.40, action 2.4 and relief 0: by similar triangles the slot goes down
    by 0.12/(1 − 36.2/645) and a little, for the saddle is reckoned from the same string."""
    screen = page(phone, over_6="0.52", wanted_wound="0.40")
    row = table(screen, 1)[1]
    assert row[:3] == ["6", "0.52 mm", "0.13 mm"]
    assert "Cut deeper: string 6 0.13 mm." in screen.words


def test_a_string_lying_on_fret_1_is_a_stop(phone: Client) -> None:
    screen = page(phone, pressed_3="0")
    assert "String 3 lies on fret 1 when it is pressed at fret 3." in screen.words
    assert screen.of_class("finding-stop")


@pytest.mark.parametrize(
    ("typed", "told"),
    [("wide", "wide is no number"), ("445", "It cannot be: 35 mm to 60 mm can.")],
)
def test_what_cannot_be_is_told_and_stays_typed(phone: Client, typed: str, told: str) -> None:
    screen = page(phone, width=typed, bass="3.1")
    assert told in screen.words
    assert screen.one(".//input[@name='width']").get("value") == typed
    assert screen.one(".//input[@name='bass']").get("value") == "3.1"
    assert screen.root.findall(".//table") == []


def test_a_wrong_figure_that_is_folded_away_is_unfolded(phone: Client) -> None:
    screen = page(phone, over_2="9")
    (opened,) = [one for one in screen.root.iter("details") if "open" in one.attrib]
    assert "Over fret 1, open" in "".join(opened.itertext())


def test_an_inch_reader_types_and_reads_inches(phone: Client) -> None:
    Badge.objects.filter(code="P-11").update(units="inch")
    screen = page(signed_in("P-11"), width="1.752")
    assert table(screen, 0)[1][1] == "0.1524 in"  # 3.87 mm


def test_what_was_measured_counts_where_nothing_is_typed(phone: Client) -> None:
    measures("N40", "first_fret")
    assert check_tray("Q-1043").done
    sent = {f"first_fret {name}": value for name, value in READ.items()}
    assert gauge("Q-1043", sent).done
    rows = table(page(phone), 1)
    assert rows[1][1] == "0.52 mm"


def test_a_page_of_the_nut_takes_ten_statements_at_most(
    phone: Client, django_assert_max_num_queries: Any
) -> None:
    page(phone)
    with django_assert_max_num_queries(10):
        page(phone)


def test_a_slot_that_is_not_to_be_cut_has_no_cut_in_sentence_or_table(phone: Client) -> None:
    typed = {"over_3": "0.75", "over_4": "0.75"}
    cut = page(phone, **typed)
    assert "string 3" in cut.of_class("lead-answer")[0]
    kept = page(phone, **typed, pressed_3="0")
    assert "String 3 lies on fret 1 when it is pressed at fret 3." in kept.words
    assert "string 3" not in kept.of_class("lead-answer")[0]
    assert "string 4" in kept.of_class("lead-answer")[0]
    cuts = {row[0]: row[2] for row in table(kept, 1)[1:]}
    assert cuts["3"] == "–"
    assert cuts["4"] != "–"


@pytest.mark.parametrize("read", [{}, {"over_3": "0.6", "over_3o": "0.9"}])
def test_the_feelers_of_an_octave_string_are_those_of_its_partner_and_the_lift(
    phone: Client, read: dict[str, str]
) -> None:
    """What the table of places calls "floor … higher"."""
    screen = page(phone, "Q-1058", **read)
    lift = {row[0]: row[2] for row in table(screen, 0)[1:]}
    feelers = {row[0]: float(row[3].split()[0]) for row in table(screen, 1)[1:]}
    for string in "6543":
        told = lift[f"{string}o"].partition("floor ")[2]
        assert feelers[f"{string}o"] - feelers[string] == pytest.approx(
            float(told.split()[0]), abs=0.011
        )


def test_an_octave_string_that_was_not_read_has_nothing_to_be_cut(phone: Client) -> None:
    screen = page(phone, "Q-1058", over_3="0.6")
    rows = {row[0]: row for row in table(screen, 1)[1:]}
    assert rows["3o"][1:3] == ["not read", "–"]
    assert "string 3o" not in screen.words
