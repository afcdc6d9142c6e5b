"""Which note buzzes on which fret."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.finding import Severity
from shop.craft.set_up import buzz, heights
from shop.craft.set_up.buzz import Board, Note, Playing, Verdict
from shop.craft.set_up.scale import fret_place
from shop.craft.words import THIN

FRETS = 22
ACTION = (2.4, 2.2, 2.1, 1.9, 1.8, 1.6)
FLOOR = (0.26, 0.24, 0.22, 0.20, 0.14, 0.14)


def board(**more: object) -> Board:
    usual = Board(645.0, ACTION, FLOOR, Playing.NORMAL.amplitudes(6), 0.2, (0.0,) * FRETS)
    return replace(usual, **more)  # type: ignore[arg-type]


def flat() -> Board:
    """One string at 2.0 over fret 12 from a nut at fret height, no relief."""
    return Board(645.0, (2.0,), (0.0,), (0.0,), 0.0, (0.0,) * FRETS)


@st.composite
def boards(draw: st.DrawFn) -> Board:
    strings = draw(st.integers(1, 6))

    def each(least: float, most: float) -> tuple[float, ...]:
        return tuple(draw(st.floats(least, most)) for _ in range(strings))

    frets = draw(st.integers(14, 24))
    return Board(
        draw(st.floats(560.0, 700.0)),
        each(0.8, 4.0),
        each(0.0, 0.4),
        each(0.0, 1.5),
        draw(st.floats(-0.1, 0.4)),
        tuple(draw(st.lists(st.floats(-0.1, 0.1), min_size=frets, max_size=frets))),
        draw(st.sampled_from((12, 14))),
    )


def by_hand(of: Board, row: int, fret: int) -> Note:
    """One note by the formulas alone, fret after fret."""
    scale = of.scale_mm
    places = [fret_place(scale, one) for one in range(of.frets + 1)]

    def top(one: int) -> float:
        low = heights.sag(of.relief_mm, places[one], places[1], places[of.joint_fret])
        return of.fret_off_mm[one - 1] - low

    sag_12 = heights.sag(of.relief_mm, places[12], places[1], places[of.joint_fret])
    saddle = heights.saddle_height(of.action_mm[row], sag_12, of.floor_mm[row])
    start = top(fret) if fret else of.floor_mm[row]
    passed = {
        over: heights.clearance(start, saddle, top(over), places[fret], places[over], scale)
        for over in range(fret + 1, of.frets + 1)
    }
    left = {
        over: clear - heights.swing(of.amplitude_mm[row], places[over], places[fret], scale)
        for over, clear in passed.items()
    }
    over = min(left, key=lambda one: left[one])
    told = (passed[over], left[over], passed[fret + 1])
    return Note(of.strings[row], fret, over, *told, Verdict.CLEAR)


def test_fretted_at_5_a_string_of_2_0_passes_fret_6_by_0_22() -> None:
    """Own computation: 4.0 · (188.92 − 161.80)/(645 − 161.80) = 0.22."""
    note = buzz.buzz(flat()).notes[0][5]
    assert round(note.next_mm, 2) == 0.22
    assert (note.over, note.verdict) == (6, Verdict.CLEAR)


@given(boards())
def test_the_map_is_what_the_formulas_say_of_each_note(of: Board) -> None:
    found = buzz.buzz(of)
    for row, notes in enumerate(found.notes):
        assert len(notes) == of.frets
        for note in notes:
            own = by_hand(of, row, note.fret)
            assert (note.string, note.fret) == (own.string, own.fret)
            assert note.next_mm == pytest.approx(own.next_mm, abs=1e-9)
            assert note.margin_mm == pytest.approx(own.margin_mm, abs=1e-9)
            if note.over != own.over:  # two frets come as close as each other
                assert note.fret < note.over <= of.frets
            else:
                assert note.clearance_mm == pytest.approx(own.clearance_mm, abs=1e-9)


@given(boards())
def test_strings_in_the_other_order_give_the_same_map_in_that_order(of: Board) -> None:
    """A left-handed board is the same board looked at from the other side."""
    mirrored = replace(
        of,
        action_mm=of.action_mm[::-1],
        floor_mm=of.floor_mm[::-1],
        amplitude_mm=of.amplitude_mm[::-1],
    )
    here, there = buzz.buzz(of).notes, buzz.buzz(mirrored).notes[::-1]
    for row, other in zip(here, there, strict=True):
        assert [one.margin_mm for one in row] == [one.margin_mm for one in other]


@given(boards(), st.floats(0.01, 1.0))
def test_more_action_never_makes_a_note_worse(of: Board, by_mm: float) -> None:
    here, there = buzz.buzz(of), buzz.buzz(of.changed(action_by_mm=by_mm))
    for row, other in zip(here.notes, there.notes, strict=True):
        assert all(b.margin_mm > a.margin_mm for a, b in zip(row, other, strict=True))


@given(boards(), st.floats(0.01, 1.0))
def test_harder_playing_never_makes_a_note_better(of: Board, by_mm: float) -> None:
    harder = replace(of, amplitude_mm=tuple(one + by_mm for one in of.amplitude_mm))
    here, there = buzz.buzz(of), buzz.buzz(harder)
    for row, other in zip(here.notes, there.notes, strict=True):
        assert all(b.margin_mm < a.margin_mm for a, b in zip(row, other, strict=True))


def test_a_usual_set_up_is_clear_at_normal_playing() -> None:
    """Action 2.4 to 1.6, relief 0.2, common practice, no source."""
    found = buzz.buzz(board())
    assert found.offenders == ()
    assert found.findings == ()
    assert found.words.replace(THIN, " ") == (
        "Every note is clear; the closest is string 1 at fret 13 with 0.02 mm left over fret 14."
    )


def test_a_high_fret_is_named_by_the_notes_before_it() -> None:
    found = buzz.buzz(board().changed(fret=9, fret_by_mm=0.12))
    assert {one.over for one in found.offenders} == {9}
    assert [one.string for one in found.offenders] == ["6", "5", "4", "3", "2", "1"]
    first = found.findings[0]
    assert first.severity is Severity.WARN
    assert first.words.replace(THIN, " ") == (
        "String 6 at fret 8: plucked, it reaches 0.05 mm into fret 9."
    )
    assert first.then.startswith("Look at fret 9;")


def test_taking_the_high_fret_down_again_gives_the_first_board_back() -> None:
    there = board().changed(fret=9, fret_by_mm=0.12)
    back = buzz.buzz(there.changed(fret=9, fret_by_mm=-0.12))
    assert [[one.verdict for one in row] for row in back.notes] == [
        [one.verdict for one in row] for row in buzz.buzz(board()).notes
    ]


def test_the_first_offender_is_the_lowest_note_that_buzzes() -> None:
    found = buzz.buzz(board().changed(fret=20, fret_by_mm=0.15))
    for one in found.offenders:
        row = found.notes[found.board.strings.index(one.string)]
        assert all(note.verdict in (Verdict.CLEAR, Verdict.CLOSE) for note in row[: one.fret])


@pytest.mark.parametrize(
    ("over_mm", "verdict"),
    [
        (0.051, Verdict.CLEAR),
        (0.049, Verdict.CLOSE),
        (0.021, Verdict.CLOSE),
        (0.019, Verdict.STOP),
        (-0.01, Verdict.STOP),
    ],
)
def test_over_the_next_fret_0_05_pass_and_0_02_stop(over_mm: float, verdict: Verdict) -> None:
    """Common practice, no source. Nothing plucked, so that only the next fret counts."""
    still = flat()
    clear = buzz.buzz(still).notes[0][5].next_mm
    note = buzz.buzz(still.changed(fret=6, fret_by_mm=clear - over_mm)).notes[0][5]
    assert note.next_mm == pytest.approx(over_mm)
    assert note.verdict is verdict


def test_a_string_that_lies_on_a_fret_further_up_is_a_stop_too() -> None:
    still = flat()
    rest = heights.clearance(0, 4.0, 0, fret_place(645, 5), fret_place(645, 8), 645)
    found = buzz.buzz(still.changed(fret=8, fret_by_mm=rest - 0.01))
    (note,) = found.offenders
    assert (note.fret, note.over, note.verdict) == (5, 8, Verdict.STOP)
    assert note.next_mm > 0.05
    (told,) = found.findings
    assert f"String 1 at fret 5: 0.01{THIN}mm over fret 8 at rest" in told.words
    assert told.then.startswith("Look at frets 5 and 8 ")


def test_an_open_string_on_fret_1_sends_to_the_nut() -> None:
    low = replace(flat(), floor_mm=(-0.24,))
    (found,) = buzz.buzz(low).findings
    assert found.severity is Severity.STOP
    assert found.words.startswith("String 1 open:")
    assert "slot of the nut" in found.then


def test_relief_that_is_missing_makes_the_lower_frets_buzz() -> None:
    """Back-bow of 0.3: the middle of the board comes up under the string."""
    found = buzz.buzz(board(relief_mm=-0.3))
    assert {one.fret for one in found.offenders} <= set(range(8))
    assert len(found.offenders) == 6


def test_hard_playing_swings_1_2_on_the_bass_and_normal_0_5_to_0_8() -> None:
    """Common practice, no source."""
    assert Playing.NORMAL.amplitudes(6)[0] == 0.8
    assert Playing.NORMAL.amplitudes(6)[-1] == pytest.approx(0.5)
    assert Playing.HARD.amplitudes(6)[0] == 1.2
    assert Playing.HARD.amplitudes(1) == (1.2,)


def test_the_swing_is_greatest_in_the_middle_and_nothing_at_the_ends() -> None:
    at_5 = fret_place(645, 5)
    middle = (at_5 + 645) / 2
    assert heights.swing(0.8, middle, at_5, 645) == pytest.approx(0.8)
    assert heights.swing(0.8, at_5, at_5, 645) == heights.swing(0.8, 645, at_5, 645) == 0


def test_relief_is_greatest_between_fret_1_and_the_joint_and_nothing_beyond() -> None:
    first, joint = fret_place(645, 1), fret_place(645, 14)
    assert heights.sag(0.2, (first + joint) / 2, first, joint) == pytest.approx(0.2)
    assert heights.sag(0.2, fret_place(645, 16), first, joint) == 0
    assert heights.sag(0.2, 0.0, first, joint) == 0


def test_action_is_read_over_fret_12_as_it_lies() -> None:
    """With relief fret 12 lies lower, so the same reading means a lower saddle; the string
    passes fret 12 by the action told."""
    of = Board(645.0, (2.0,), (0.2,), (0.0,), 0.3, (0.0,) * FRETS, 14)
    at = [fret_place(645, one) for one in (1, 12, 14)]
    low = heights.sag(0.3, at[1], at[0], at[2])
    saddle = heights.saddle_height(2.0, low, 0.2)
    assert heights.clearance(0.2, saddle, -low, 0.0, at[1], 645) == pytest.approx(2.0)
    assert buzz.buzz(of).notes[0][0].verdict is Verdict.CLEAR


def test_the_arithmetic_of_a_note_shows_both_heights_and_what_is_left() -> None:
    found = buzz.buzz(replace(flat(), amplitude_mm=(0.8,)))
    said = [one.replace(THIN, " ") for one in found.arithmetic(found.notes[0][5])]
    assert said == [
        "0 + (4 \u2212 0) × (188.92 \u2212 161.8)/(645 \u2212 161.8) \u2212 0 = 0.22 mm",
        "4 × 0.8 × (188.92 \u2212 161.8) × (645 \u2212 188.92)/(645 \u2212 161.8)² = 0.17 mm",
        "0.22 \u2212 0.17 = 0.05 mm",
    ]


def test_a_board_that_cannot_be_is_a_fault_of_the_program() -> None:
    with pytest.raises(ValueError, match="not 6, 5 and 6"):
        board(floor_mm=FLOOR[1:])
    with pytest.raises(ValueError, match="3 frets"):
        board(fret_off_mm=(0.0,) * 3)
    with pytest.raises(ValueError, match="Fret 30"):
        board().changed(fret=30, fret_by_mm=0.1)
    with pytest.raises(ValueError, match="joint is at no fret"):
        board(joint_fret=40)
