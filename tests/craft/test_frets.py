"""The plan for levelling, the frets that spoil it, and the frets after crowning.

Limits (0.10 and 0.15 removed, 0.90 and 0.70 left, 0.02, 0.03 and 0.4 after crowning) and the
fall-off are common practice, no source. Boards are invented.
"""

from __future__ import annotations

import doctest
from collections.abc import Callable
from decimal import Decimal
from random import Random
from types import ModuleType
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.finding import Severity
from shop.craft.formula import Formula
from shop.craft.set_up.frets import (
    Advice,
    Board,
    Crowned,
    FretReadings,
    Spot,
    advise,
    frets_words,
    judge,
    judging,
    plan,
    reading,
    rises,
    solving,
    suspecting,
    targets,
)
from shop.craft.set_up.frets.drawing import draw

unhurried = settings(deadline=None)  # a busy machine plans slowly, and rightly
FRETS = 20
PLAIN = Board(scale_mm=645.0)


def board(
    height: Callable[[int, int], str | None], frets: int = FRETS, lines: int = 6
) -> FretReadings:
    """Heights as a function of fret and line tells them."""
    return FretReadings(
        tuple(
            tuple(
                None if (said := height(fret, line)) is None else Decimal(said)
                for fret in range(1, frets + 1)
            )
            for line in range(1, lines + 1)
        )
    )


def level(but: dict[int, str], all_others: str = "1.10") -> FretReadings:
    """A level board with some frets of another height, all across."""
    return board(lambda fret, _: but.get(fret, all_others))


def said(words: str) -> str:
    return words.replace("\u202f", " ")


def words(advice: Advice) -> list[str]:
    return [said(one) for one in advice.told]


heights = st.none() | st.integers(95, 125).map(lambda hundredths: Decimal(hundredths) / 100)
boards = st.tuples(st.integers(3, 6), st.integers(2, 22)).flatmap(
    lambda size: st.lists(heights, min_size=size[0] * size[1], max_size=size[0] * size[1]).map(
        lambda row: FretReadings(
            tuple(tuple(row[line * size[1] : (line + 1) * size[1]]) for line in range(size[0]))
        )
    )
)


@pytest.mark.parametrize("module", [reading, solving])
def test_the_examples_of_a_module_hold(module: ModuleType) -> None:
    result = doctest.testmod(module)
    assert result.attempted > 0
    assert result.failed == 0


@pytest.mark.parametrize(
    "one",
    [targets.fall_off, targets.target, targets.removal, targets.remaining, judging.rise],
    ids=lambda one: one.key,
)
def test_the_example_in_the_docstring_of_a_formula_holds(one: Formula[Any]) -> None:
    (found,) = doctest.DocTestFinder().find(one.reckon, one.key, globs={one.reckon.__name__: one})
    result = doctest.DocTestRunner().run(found)
    assert result.attempted > 0
    assert result.failed == 0


@pytest.mark.parametrize(
    ("one", "example"),
    [
        (targets.fall_off, 0.15),
        (targets.target, 1.08),
        (targets.removal, 0.06),
        (targets.remaining, 1.10),
        (judging.rise, 0.03),
    ],
)
def test_the_worked_example_of_a_formula_comes_out(one: Formula[Any], example: float) -> None:
    assert one.example == pytest.approx(example, abs=0.005)


# --- the plan ---


def test_one_fret_of_1_16_among_frets_of_1_10_loses_0_06_and_nothing_else_does() -> None:
    made = plan(level({9: "1.16"}), PLAIN)
    assert made.by_fret == {
        fret: Decimal("0.06") if fret == 9 else Decimal("0.00") for fret in range(1, FRETS + 1)
    }
    assert [said(one) for one in made.told] == [
        "Take 0.06 mm off fret 9.",
        "Leave frets 1–8 and 10–20 as they are.",
    ]
    assert made.findings == ()
    assert {round(to, 9) for line in made.targets_mm for to in line if to is not None} == {1.1}


def test_a_level_board_is_left_as_it_is() -> None:
    made = plan(level({}), PLAIN)
    assert made.most_mm == 0
    assert made.findings == ()
    assert made.told == ("Nothing comes off: every fret that was read lies in the plane.",)


def test_fall_off_comes_off_the_frets_over_the_body_alone_and_all_of_it_at_the_last() -> None:
    made = plan(level({}), Board(scale_mm=645.0, body_joint=14, fall_off_mm=0.10))
    taken = made.by_fret
    assert all(taken[fret] == 0 for fret in range(1, 15))
    assert taken[20] == Decimal("0.10")
    assert list(taken.values()) == sorted(taken.values())
    assert made.findings == ()


@pytest.mark.parametrize(
    ("height", "severity"),
    [("1.20", None), ("1.21", Severity.WARN), ("1.25", Severity.WARN), ("1.26", Severity.STOP)],
)
def test_up_to_0_10_comes_off_easily_up_to_0_15_with_care_and_no_more(
    height: str, severity: Severity | None
) -> None:
    made = plan(board(lambda fret, _: height if 8 <= fret <= 12 else "1.10"), PLAIN)
    assert made.severity == severity
    assert made.most_mm == Decimal(height) - Decimal("1.10")


@pytest.mark.parametrize(
    ("height", "repair", "stops"),
    [("0.90", False, False), ("0.89", False, True), ("0.70", True, False), ("0.69", True, True)],
)
def test_at_least_0_90_stays_in_new_work_and_0_70_in_repair(
    height: str, repair: bool, stops: bool
) -> None:
    made = plan(level({}, height), Board(scale_mm=645.0, repair=repair))
    assert [one.rule for one in made.findings] == (["fret height"] if stops else [])


def test_what_is_left_goes_by_the_wire_where_heights_are_from_a_straight_reference() -> None:
    made = plan(level({9: "1.16"}), Board(scale_mm=645.0, fret_mm=Decimal("0.95")))
    (found,) = made.findings
    assert said(found.words) == "0.89 mm would be left of fret 9, at least 0.9 mm has to stay."


def test_the_most_is_told_first_and_a_long_list_is_left_to_the_table() -> None:
    made = plan(board(lambda fret, _: f"{1.10 + 0.01 * (fret % 8 if fret > 3 else 0):.2f}"), PLAIN)
    told = [said(one) for one in made.told]
    assert told[0] == "Take 0.07 mm off frets 7 and 15."
    assert told[5] == "Take less off frets 9, 10, 17 and 18: the table says how much."
    assert len(told) == 7


def test_readings_that_are_missing_ask_for_nothing_and_bound_nothing() -> None:
    holes = board(lambda fret, line: None if (fret, line) in {(9, 3), (1, 1)} else "1.10")
    made = plan(holes, PLAIN)
    assert made.removals_mm[2][8] is None
    assert made.targets_mm[2][8] == pytest.approx(1.10)
    assert made.most_mm == 0


@pytest.mark.parametrize("kept", [{}, {(1, 1)}, {(1, 1), (2, 1)}, {(1, 1), (1, 2), (1, 3)}])
def test_too_few_heights_are_told_and_give_no_plan(kept: set[tuple[int, int]]) -> None:
    found = advise(board(lambda fret, line: "1.10" if (fret, line) in kept else None), PLAIN)
    assert [one.rule for one in found.findings] == ["fret heights"]
    told = {0: "No heights are read", 1: "1 height is read"}
    words = told.get(len(kept), f"{len(kept)} heights are read")
    assert found.findings[0].words == f"{words}: too few for a plan."
    assert found.told == ()


@unhurried
@given(boards)
def test_no_board_of_possible_heights_is_without_an_answer(readings: FretReadings) -> None:
    found = advise(readings, PLAIN)
    assert found.told or found.findings
    for spot in readings.spots():
        height, to = readings.at(spot), found.plan.targets_mm[spot.line - 1][spot.fret - 1]
        if height is not None and to is not None:
            assert to <= float(height) + 1e-9


@unhurried
@given(boards)
def test_a_board_read_from_the_other_edge_gets_the_mirrored_plan(readings: FretReadings) -> None:
    one, other = advise(readings, PLAIN), advise(readings.mirrored(), PLAIN)
    for mine, theirs in zip(one.plan.targets_mm, other.plan.targets_mm[::-1], strict=True):
        assert mine == pytest.approx(theirs, abs=1e-9)


@unhurried
@given(boards, st.data())
def test_a_higher_reading_never_lets_the_sum_of_the_targets_fall(
    readings: FretReadings, data: st.DataObject
) -> None:
    spot = data.draw(st.sampled_from(list(readings.spots())))
    height = readings.at(spot)
    if height is None:
        return
    raised = [list(line) for line in readings.lines]
    raised[spot.line - 1][spot.fret - 1] = height + Decimal("0.07")
    higher = FretReadings(tuple(map(tuple, raised)))
    assert plan(higher, PLAIN).sum_mm >= plan(readings, PLAIN).sum_mm - 1e-9


# --- what spoils it ---


def test_a_low_fret_is_to_be_reseated_and_nothing_levelled_to_it() -> None:
    """Its neighbours reach 0.04 above the plane; the low fret forces more off all."""
    found = advise(level({5: "1.14", 12: "0.98"}), PLAIN)
    assert [(one.fret, one.off_mm) for one in found.low] == [(12, Decimal("0.12"))]
    assert words(found) == [
        "Reseat fret 12, do not level: without it 0.04 mm comes off at most, with it 0.17 mm."
    ]
    assert found.findings[0].severity is Severity.STOP
    assert said(found.findings[0].then).startswith("It lies 0.12 mm low.")
    assert found.without.most_mm == Decimal("0.04")
    assert found.plan.most_mm == Decimal("0.17")


def test_a_fret_that_is_low_by_no_more_than_0_10_is_levelled_to() -> None:
    found = advise(level({20: "1.00"}), PLAIN)
    assert found.low == ()
    assert found.without is found.plan


def test_a_fret_that_is_low_by_more_than_0_10_is_reseated_though_all_could_be_levelled() -> None:
    found = advise(level({20: "0.99"}), PLAIN)
    assert [one.fret for one in found.low] == [20]
    assert found.plan.most_mm <= Decimal("0.15")


def test_a_fret_that_is_what_forces_too_much_off_the_others_is_reseated_however_low() -> None:
    """The least sum tilts the plane about a low fret in the middle: far more comes off its ends."""
    found = advise(level({9: "1.02"}), PLAIN)
    assert [(one.fret, one.off_mm) for one in found.low] == [(9, Decimal("0.08"))]
    assert found.plan.most_mm > Decimal("0.15")


def test_a_fret_low_on_one_line_alone_is_named_too() -> None:
    readings = board(lambda fret, line: "0.95" if (fret, line) == (7, 4) else "1.10")
    found = advise(readings, PLAIN)
    assert [(one.fret, one.off_mm) for one in found.low] == [(7, Decimal("0.15"))]


@pytest.mark.parametrize("frets", [(12, 13), (4, 17), (15, 19), (1, 20), (3, 9, 16)])
def test_low_frets_that_hide_one_another_are_all_named(frets: tuple[int, ...]) -> None:
    found = advise(level(dict.fromkeys(frets, "0.92")), PLAIN)
    assert tuple(one.fret for one in found.low) == frets
    assert found.without.most_mm == 0
    assert words(found)[0].startswith(f"Reseat {frets_words(frets)}, do not level: without them")


def test_a_board_that_is_hollow_has_no_fret_to_reseat() -> None:
    hollow = board(lambda fret, _: f"{1.10 - 0.25 * max(0, 1 - abs(fret - 8) / 8):.2f}")
    found = advise(hollow, PLAIN)
    assert found.low == ()
    assert found.plan.severity is Severity.STOP


def test_a_fret_that_stands_high_alone_is_pressed_down_before_it_is_filed() -> None:
    found = advise(level({9: "1.28"}), PLAIN)
    assert [(one.fret, one.off_mm) for one in found.high] == [(9, Decimal("0.18"))]
    assert words(found) == ["Fret 9 alone stands 0.18 mm high: press it down before you file it."]


def test_high_and_low_frets_are_told_together_the_low_ones_first() -> None:
    found = advise(level({6: "1.30", 14: "0.92"}), PLAIN)
    assert [one.fret for one in found.low] == [14]
    assert [one.fret for one in found.high] == [6]
    assert [one.split(",")[0] for one in words(found)[:1]] == ["Reseat fret 14"]
    assert words(found)[1].startswith("Fret 6 alone stands 0.2 mm high")


def test_three_high_frets_side_by_side_are_filed_for_none_of_them_is_alone() -> None:
    found = advise(level({8: "1.22", 9: "1.24", 10: "1.22"}), PLAIN)
    assert found.suspects == ()
    assert words(found)[0] == "Take 0.14 mm off fret 9."


def test_the_mirrored_board_has_the_same_suspects() -> None:
    readings = board(
        lambda fret, line: "0.94" if fret == 11 and line < 3 else f"{1.1 + fret % 3 / 100:.2f}"
    )
    assert advise(readings, PLAIN).suspects == advise(readings.mirrored(), PLAIN).suspects


# --- after crowning ---


def crowned(but: dict[int, str], **more: dict[int, Decimal]) -> Crowned:
    return Crowned(level(but, "1.00"), more.get("flat", {}), more.get("rocker", {}))


def test_level_frets_with_narrow_flats_are_done() -> None:
    done = crowned({}, flat={3: Decimal("0.4")}, rocker={3: Decimal("0.03")})
    assert judge(done, PLAIN) == ()


@pytest.mark.parametrize(
    ("height", "severity"),
    [("1.02", None), ("1.03", Severity.WARN), ("1.05", Severity.WARN), ("1.06", Severity.STOP)],
)
def test_a_fret_may_stand_0_02_over_the_line_of_its_neighbours(
    height: str, severity: Severity | None
) -> None:
    found = judge(crowned({9: height}), PLAIN)
    assert [one.severity for one in found] == ([severity] if severity else [])
    assert all(said(one.words).startswith("Fret 9 stands 0.0") for one in found)


def test_a_rise_goes_by_where_the_frets_lie_not_by_the_middle_of_their_heights() -> None:
    """Frets 12, 13, 14 at 645: 18.10 and 17.09 mm apart, so the line falls 0.0514 by fret 13."""
    (one,) = [
        one
        for one in rises(
            level({12: "1.10", 13: "1.05", **dict.fromkeys(range(1, 12), "1.10")}, "1.00"), PLAIN
        )
        if one.spot == Spot(13, 1)
    ]
    assert one.rise_mm == Decimal("0.00")
    assert judging.rise(1.10, 1.05, 1.00, 18.10, 17.09) == pytest.approx(0.0014, abs=1e-4)


def test_fall_off_that_was_filed_on_purpose_is_no_rise() -> None:
    falling = Board(scale_mm=645.0, fall_off_mm=0.25)
    filed = plan(level({}), falling)
    heights = [f"{to:.2f}" for to in filed.targets_mm[0] if to is not None]
    after = board(lambda fret, _: heights[fret - 1])
    assert judge(Crowned(after, {}, {}), falling) == ()
    assert any(one.rise_mm > Decimal("0.02") for one in rises(after, PLAIN))


@pytest.mark.parametrize(
    ("gap", "severity"),
    [("0.03", None), ("0.04", Severity.WARN), ("0.05", Severity.WARN), ("0.06", Severity.STOP)],
)
def test_a_rocker_may_show_0_03(gap: str, severity: Severity | None) -> None:
    found = judge(crowned({}, rocker={7: Decimal(gap)}), PLAIN)
    assert [one.severity for one in found] == ([severity] if severity else [])


def test_a_flat_wider_than_0_4_is_crowned_on() -> None:
    flat = {3: Decimal("0.4"), 7: Decimal("0.6"), 8: Decimal("0.5")}
    (found,) = judge(crowned({}, flat=flat), PLAIN)
    assert said(found.words) == "The flat on fret 7 is 0.6 mm wide, at most 0.4 mm may be."
    assert found.then == "Crown frets 7 and 8 until a hair of the mark is left."


def test_a_fret_whose_neighbour_was_not_read_is_not_judged() -> None:
    holes = board(lambda fret, _: None if fret == 10 else "1.06" if fret == 9 else "1.00")
    assert judge(Crowned(holes, {}, {}), PLAIN) == ()


# --- the drawing ---


def test_the_drawing_has_every_height_its_target_and_what_was_read_after() -> None:
    made = plan(level({9: "1.16"}), PLAIN)
    drawn = draw(made, level({}, "1.05"), frozenset({9}))
    assert [strip.line for strip in drawn.strips] == [1, 2, 3, 4, 5, 6]
    strip = drawn.strips[2]
    assert [dot.fret for dot in strip.before if dot.wrong] == [9]
    assert len(strip.before) == len(strip.after) == len(strip.target.split()) == FRETS
    assert [dot.x for dot in strip.before] == sorted(dot.x for dot in strip.before)
    heights = {dot.fret: dot.y for dot in strip.before}
    assert heights[9] < heights[8] < strip.after[7].y  # higher up on the page is higher
    for one in drawn.strips:
        every = [*one.before, *one.after]
        assert all(one.bottom - 64 <= dot.y <= one.bottom for dot in every)
        assert all(0 <= dot.x <= drawn.width for dot in every)


def test_a_level_board_is_drawn_level() -> None:
    drawn = draw(plan(level({}), PLAIN), None, frozenset())
    assert {dot.y for dot in drawn.strips[0].before} == {32.0}


# --- the heights ---


def test_what_is_missing_is_named_by_fret_and_line() -> None:
    readings = board(lambda fret, line: None if (fret, line) == (9, 3) else "1.10")
    assert [one.words for one in readings.missing] == ["fret 9 on line 3"]


@pytest.mark.parametrize("height", ["0.29", "1.81"])
def test_a_height_no_fret_has_is_doubtful(height: str) -> None:
    readings = board(lambda fret, line: height if (fret, line) == (9, 3) else "1.10")
    (doubt,) = readings.doubtful()
    assert doubt.spot == Spot(9, 3)
    assert said(doubt.words) == (
        f"Fret 9 on line 3 is {height} mm; a fret stands 0.3 mm to 1.8 mm high. Read it again."
    )


def test_heights_from_a_straight_reference_need_not_be_those_of_a_wire() -> None:
    """A dial set to nothing on the reference reads about nothing, or less; one far from those
    around it is doubted all the same."""
    readings = board(lambda fret, line: "0.02" if (fret + line) % 2 else "-0.02")
    assert len(readings.doubtful()) == len(tuple(readings.spots()))
    assert readings.doubtful(from_board=False) == ()
    far = board(lambda fret, line: "-0.30" if (fret, line) == (9, 3) else "0.00")
    assert [one.spot for one in far.doubtful(from_board=False)] == [Spot(9, 3)]


def test_of_heights_from_a_straight_reference_the_wire_less_what_comes_off_is_left() -> None:
    flat = board(lambda fret, _: "0.06" if fret == 9 else "0.00")
    found = plan(flat, Board(645.0, fret_mm=Decimal("1.10"))).left_by_fret
    assert (found[9], found[8]) == (Decimal("1.04"), Decimal("1.10"))
    high = board(lambda fret, _: "1.16" if fret == 9 else "1.10")
    found = plan(high, Board(645.0)).left_by_fret
    assert (found[9], found[8]) == (Decimal("1.10"), Decimal("1.10"))


@pytest.mark.parametrize(("height", "doubted"), [("1.35", False), ("1.36", True), ("0.84", True)])
def test_a_height_far_from_those_around_it_is_doubtful(height: str, doubted: bool) -> None:
    readings = board(lambda fret, line: height if (fret, line) == (1, 1) else "1.10")
    assert [one.spot for one in readings.doubtful()] == ([Spot(1, 1)] if doubted else [])


def test_frets_are_named_in_runs() -> None:
    assert frets_words([9, 1, 2, 3, 20, 19]) == "frets 1–3, 9, 19 and 20"


@pytest.mark.parametrize(
    "lines",
    [
        ((Decimal("1.1"),),) * 2,
        ((Decimal("1.1"),),) * 7,
        ((Decimal("1.1"),), (Decimal("1.1"),), (Decimal("1.1"), None)),
        ((),) * 3,
        ((None,) * 31,) * 3,
        ((Decimal("nan"),),) * 3,
    ],
)
def test_what_is_no_table_of_heights_is_refused(lines: reading.Heights) -> None:
    with pytest.raises(ValueError, match=r"lines|frets|height"):
        FretReadings(lines)


@pytest.mark.parametrize(
    "wrong", [{"scale_mm": 0.0}, {"fall_off_mm": -0.1}, {"body_joint": 0}, {"body_joint": 31}]
)
def test_what_is_no_board_is_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="is no board"):
        Board(**{"scale_mm": 645.0, **wrong})  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", range(24))
def test_a_fret_that_is_not_tried_without_is_none_that_would_be_found(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    chance = Random(seed)
    low = {chance.randint(1, FRETS): chance.uniform(0.05, 0.3) for _ in range(seed % 4)}
    rough = chance.choice([0.0, 0.02, 0.06])
    read = board(
        lambda fret, _: f"{chance.gauss(1.1 - low.get(fret, 0.0), rough):.2f}", lines=3 + seed % 4
    )
    found = advise(read, PLAIN)
    monkeypatch.setattr(suspecting._Asked, "may_lie", lambda *_: True)
    assert advise(read, PLAIN) == found
