"""Fret heights through the one door: what is taken, what stays, and that the floor follows.

The instrument is of the demo: SKERRY, its frets being levelled. What a fret can be and when a
height is doubted is common practice, no source.
"""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from shop.craft.sent import Tapped
from shop.craft.set_up.frets import Spot
from shop.floor import board, door, following
from shop.floor.models import Entry, FretHeights
from tests.floor.morning import NOW, act, now, rules, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

SERIAL = "Q-1049"
FRETS = 20


def level(height: str = "1.10", lines: int = 6, **but: str) -> dict[Spot, str]:
    """Every fret on every line as high, but for some: ``level(f9="1.16")`` all across."""
    return {
        Spot(fret, line): but.get(f"f{fret}", height)
        for fret in range(1, FRETS + 1)
        for line in range(1, lines + 1)
    }


def read(
    heights: dict[Spot, str] | None = None,
    *,
    by: str = "P-12",
    station: str = "F",
    minutes: int = 0,
    serial: str = SERIAL,
    **more: Any,
) -> door.Outcome:
    usual: dict[str, Any] = {
        "operation": "F20", "stage": "before", "datum": "board", "lines": 6,
        "heights": level() if heights is None else heights,
    }  # fmt: skip
    deed = door.FretsRead(instrument_id=now(serial).id, **(usual | more))
    return door.record(act(by, station, NOW + timedelta(minutes=minutes)), deed)


def test_heights_that_were_read_are_kept_by_line_and_fret() -> None:
    assert read(level(f9="1.16")).done
    before, after = board.fret_heights(now(SERIAL).id)
    assert before is not None
    assert after is None
    assert (before.by, before.datum, before.stage) == ("P-12", "board", "before")
    assert before.readings.at(Spot(9, 3)) == Decimal("1.16")
    assert before.readings.at(Spot(8, 3)) == Decimal("1.10")
    assert before.readings.missing == ()


def test_a_comma_and_inches_are_read_to_a_hundredth_of_a_millimetre() -> None:
    assert read({Spot(1, 1): "0,0433"}, inch=True).done
    kept = FretHeights.objects.get()
    assert kept.heights[0][0] == "1.10"


def test_what_is_read_again_takes_the_place_of_what_was_read_and_the_rest_stays() -> None:
    read(level(f12="0.92"))
    assert read({Spot(12, line): "1.10" for line in range(1, 7)}, minutes=10).done
    before, _ = board.fret_heights(now(SERIAL).id)
    assert before is not None
    assert {height for line in before.readings.lines for height in line} == {Decimal("1.10")}
    assert FretHeights.objects.count() == 2


@pytest.mark.parametrize("more", [{}, {"lines": 3}, {"datum": "straight"}])
def test_a_new_reading_of_all_leaves_out_what_was_read(more: dict[str, Any]) -> None:
    read()
    assert read({Spot(1, 1): "1.10"}, minutes=10, anew=True, **more).done
    before, _ = board.fret_heights(now(SERIAL).id)
    assert before is not None
    assert len(before.readings.missing) == FRETS * more.get("lines", 6) - 1


@pytest.mark.parametrize(
    ("first", "more", "told"),
    [
        (
            {},
            {"datum": "straight"},
            "The heights that stand were read from the board, these from a straight reference.",
        ),
        (
            {"datum": "straight"},
            {},
            "The heights that stand were read from a straight reference, these from the board.",
        ),
        (
            {},
            {"lines": 3},
            "The heights that stand were read along 6 lines, these along 3.",
        ),
    ],
)
def test_heights_read_otherwise_are_taken_as_a_new_reading_of_all_alone(
    first: dict[str, Any], more: dict[str, Any], told: str
) -> None:
    assert read(**first).done
    refused = read({Spot(1, 1): "1.10"}, minutes=10, **more)
    assert (rules(refused), words(refused)) == (["frets"], told)
    assert FretHeights.objects.count() == 1


def test_after_crowning_they_may_be_read_otherwise_than_before() -> None:
    read()
    assert read(level("0.02"), stage="after", datum="straight", minutes=60).done
    refused = read({Spot(1, 1): "1.0"}, stage="after", minutes=70)
    assert rules(refused) == ["frets"]


def test_heights_after_crowning_stand_beside_those_before_with_flats_and_rocker() -> None:
    read()
    told = read(
        level("1.00"), stage="after", minutes=60, flats={7: "0.5"}, rockers={7: "0.04", 9: "0,02"}
    )
    assert told.done
    before, after = board.fret_heights(now(SERIAL).id)
    assert before is not None
    assert after is not None
    assert before.readings.at(Spot(1, 1)) == Decimal("1.10")
    assert after.flats_mm == {7: Decimal("0.50")}
    assert after.rockers_mm == {7: Decimal("0.04"), 9: Decimal("0.02")}


def test_frets_read_before_levelling_once_more_leave_what_was_after_the_last_behind() -> None:
    read()
    read(level("1.00"), stage="after", minutes=60)
    read({Spot(1, 1): "1.05"}, minutes=120)
    before, after = board.fret_heights(now(SERIAL).id)
    assert after is None
    assert before is not None
    assert len(before.readings.missing) == FRETS * 6 - 1


# --- what is not taken ---


@pytest.mark.parametrize(
    ("heights", "rule", "told"),
    [
        ({Spot(9, 3): "high"}, "height 9 3", "high is no number. Write it as 8.73 or 8,73."),
        ({Spot(9, 3): "16"}, "height 9 3", "It cannot be: 0 mm to 5 mm can."),
        (
            {Spot(21, 1): "1.1"},
            "height 21 1",
            "There is no fret 21 on line 1: this board has 20 frets.",
        ),
        (
            {Spot(9, 6): "1.1"},
            "height 9 6",
            "There is no fret 9 on line 6: this board has 20 frets.",
        ),
        ({}, "frets", "Nothing was entered."),
    ],
)
def test_what_is_no_height_of_this_board_is_named_and_nothing_is_taken(
    heights: dict[Spot, str], rule: str, told: str
) -> None:
    refused = read(level(lines=3) | heights if heights else {}, lines=3)
    assert not refused.done
    assert rules(refused) == [rule]
    assert words(refused).replace("\u202f", " ") == told
    assert FretHeights.objects.count() == 0


def test_a_height_that_is_doubted_is_taken_once_it_was_read_again() -> None:
    heights = level() | {Spot(9, 3): "1.61"}
    refused = read(heights)
    assert rules(refused) == ["height 9 3"]
    assert "those around it about 1.1" in words(refused)
    assert not read(heights, minutes=1).done
    assert read(heights, minutes=2, sure=frozenset({Spot(9, 3)})).done


def test_a_height_that_was_believed_before_is_not_doubted_again() -> None:
    read(level() | {Spot(9, 3): "1.61"}, sure=frozenset({Spot(9, 3)}))
    assert read({Spot(1, 1): "1.11"}, minutes=5).done


@pytest.mark.parametrize("height", ["-0.02", "0.02", "-5"])
def test_from_a_straight_reference_a_fret_may_lie_at_it_or_below(height: str) -> None:
    assert read(level(height), datum="straight").done
    kept = FretHeights.objects.get()
    assert Decimal(kept.heights[0][0]) == Decimal(height)


@pytest.mark.parametrize(
    ("datum", "height", "told"),
    [
        ("straight", "-5.01", "It cannot be: \u22125 mm to 5 mm can."),
        ("straight", "5.01", "It cannot be: \u22125 mm to 5 mm can."),
        ("board", "-0.02", "It cannot be: 0 mm to 5 mm can."),
    ],
)
def test_a_height_that_its_datum_cannot_have_is_refused(datum: str, height: str, told: str) -> None:
    refused = read(level() | {Spot(9, 3): height}, datum=datum)
    assert rules(refused) == ["height 9 3"]
    assert words(refused).replace("\u202f", " ") == told


def test_a_flat_is_never_below_nothing() -> None:
    assert rules(read({}, stage="after", datum="straight", flats={7: "-0.1"})) == ["flat 7"]


@pytest.mark.parametrize("name", ["flats", "rockers"])
def test_a_flat_or_a_gap_that_cannot_be_is_refused_at_its_fret(name: str) -> None:
    more: dict[str, Any] = {name: {7: "wide", 21: "0.3"}}
    refused = read({}, stage="after", **more)
    assert rules(refused) == [f"{name[:-1]} 7", f"{name[:-1]} 21"]


@pytest.mark.parametrize("more", [{"stage": "later"}, {"datum": "air"}, {"lines": 7}])
def test_a_form_that_cannot_be_is_refused(more: dict[str, Any]) -> None:
    assert rules(read(**more)) == ["frets"]


def test_frets_are_read_at_the_operations_own_station() -> None:
    assert rules(read(station="N")) == ["station"]


def test_an_operation_that_is_not_on_the_route_reads_no_frets() -> None:
    assert words(read(operation="X99")) == "X99 is not on the route of Q-1049."


def test_an_inspection_reads_no_frets_so_nothing_of_the_first_look_has_to_be_hidden() -> None:
    refused = read(operation="I10", station="I", by="P-31")
    assert words(refused) == "I10 is an inspection: frets are not read there."


def test_a_gauge_that_nobody_knows_stops_and_a_known_one_is_named() -> None:
    assert words(read(tool="G-99")) == "There is no gauge G-99 here."
    tool = board.tools()[0]
    read(tool=tool.name, minutes=1)
    before, _ = board.fret_heights(now(SERIAL).id)
    assert before is not None
    assert before.tool == tool.name
    assert before.overdue is tool.overdue(NOW.date())


# --- the journal and what follows from it ---


def test_a_refused_reading_is_a_row_as_well_and_keeps_what_was_typed() -> None:
    read(level() | {Spot(9, 3): "high"})
    row = Entry.objects.filter(kind="frets").get()
    assert row.outcome == "refused"
    assert [9, 3, "high"] in row.data["entered"]


def test_the_floor_made_again_has_the_same_heights() -> None:
    read(level(f9="1.16"))
    read({Spot(9, 1): "1.10"}, minutes=5, tool=board.tools()[0].name)
    read({}, stage="after", flats={3: "0.3"}, minutes=50)
    assert following.differences()[1] == []
    kept = list(FretHeights.objects.values("stage", "heights", "flats", "operation", "at"))
    following.rebuild()
    assert list(FretHeights.objects.values("stage", "heights", "flats", "operation", "at")) == kept


def test_a_height_that_no_deed_changed_is_named() -> None:
    read()
    FretHeights.objects.update(flats={"3": "0.9"})
    (said,) = following.differences()[1]
    assert "flats" in said


def test_the_heights_in_force_are_asked_in_two_statements(
    django_assert_num_queries: Any,
) -> None:
    read()
    number = now(SERIAL).id
    with django_assert_num_queries(2):
        board.fret_heights(number)


def test_heights_that_waited_on_a_phone_are_kept_with_that_said() -> None:
    sending = door.Sending(
        badge="P-12",
        station="F",
        tapped=Tapped(NOW, kept=True),
        sent_at=NOW + timedelta(minutes=50),
        received_at=NOW + timedelta(minutes=50),
        sent_by="P-12",
        proven=True,
        mark="",
    )
    deed = door.FretsRead(
        instrument_id=now(SERIAL).id,
        operation="F20",
        stage="before",
        datum="board",
        lines=6,
        heights=level(),
    )
    outcome = door.record(act("P-12", "F", NOW, sending=sending), deed)
    assert outcome.done
    assert "kept" in rules(outcome)
