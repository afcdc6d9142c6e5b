"""The angle of the neck, and the wedge that sets it again.

A straightedge over the frets should clear the bridge top by a little. Where it does not, no
saddle has the right height: the heel is trimmed to a wedge, thickest at its tip and nothing at
the board, and the neck tips back. Trimmed at the board and nothing at its tip, it tips forward
about that tip, and goes into the body.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from shop.craft.finding import Finding, note, stop, warn
from shop.craft.formula import Symbol, formula
from shop.craft.set_up.figures import above_zero, figure, judged, known, length, signed

SOURCE: Final = "one maker's published notes on setting necks"
LEAST_MM: Final = 0.4  # straightedge over the bridge top: 1/64 in
MOST_MM: Final = 1.6  # 1/16 in
PLAY_MM: Final = 0.5  # a saddle line that far from its place is out; common practice, no source

CAUTION: Final = (
    "Steam, hot iron and sharp chisels: gloves against the heat, cut away from your hands, "
    "never pry a heel."
)


@formula(
    "neck-angle",
    "Angle of the neck",
    "a = atan((B + g − F − f) / (L + C − J))",
    Symbol("a", "", "angle between the fret plane and the top", "°"),
    Symbol("B", "bridge_mm", "height of the bridge over the top", "mm"),
    Symbol("g", "clearance_mm", "straightedge on the frets above the bridge top", "mm"),
    Symbol("F", "board_mm", "thickness of the fingerboard", "mm"),
    Symbol("f", "fret_mm", "height of the frets", "mm"),
    Symbol("L", "scale_mm", "scale length", "mm"),
    Symbol("C", "compensation_mm", "compensation at the middle of the saddle", "mm"),
    Symbol("J", "joint_mm", "from the front of the nut to the body joint", "mm"),
    source=SOURCE,
    given={
        "bridge_mm": 9.5,
        "clearance_mm": 1.0,
        "board_mm": 6.0,
        "fret_mm": 1.1,
        "scale_mm": 645.0,
        "compensation_mm": 3.8,
        "joint_mm": 357.69,
    },
)
def neck_angle(
    bridge_mm: float,
    clearance_mm: float,
    board_mm: float,
    fret_mm: float,
    scale_mm: float,
    compensation_mm: float,
    joint_mm: float,
) -> float:
    """The angle of the neck to the top, in degrees, tipped back positive.

    >>> round(neck_angle(9.5, 1.0, 6.0, 1.1, 645.0, 3.8, 357.69), 2)
    0.67
    """
    above_zero(scale_mm=scale_mm, run_mm=scale_mm + compensation_mm - joint_mm)
    rise = bridge_mm + clearance_mm - board_mm - fret_mm
    known(rise_mm=rise)
    return math.degrees(math.atan(rise / (scale_mm + compensation_mm - joint_mm)))


@formula(
    "reset-wedge",
    "Wedge trimmed off the heel",
    "w = Δ · H / D",
    Symbol("w", "", "taken off at the tip of the heel, nothing at the board", "mm"),
    Symbol("Δ", "rise_mm", "how much the fret plane has to rise at the saddle", "mm"),
    Symbol("H", "heel_mm", "depth of the heel from the fret plane", "mm"),
    Symbol("D", "joint_to_saddle_mm", "from the body joint to the saddle", "mm"),
    source="similar triangles",
    given={"rise_mm": 2.0, "heel_mm": 90.0, "joint_to_saddle_mm": 287.31},
)
def reset_wedge(rise_mm: float, heel_mm: float, joint_to_saddle_mm: float) -> float:
    """What comes off the tip of the heel, in millimetres.

    >>> round(reset_wedge(2.0, 90.0, 287.31), 2)
    0.63
    """
    above_zero(heel_mm=heel_mm, joint_to_saddle_mm=joint_to_saddle_mm)
    known(rise_mm=rise_mm)
    return rise_mm * heel_mm / joint_to_saddle_mm


@formula(
    "wedge-at-board",
    "Wedge trimmed off the heel at the board",
    "b = v · (H − F) / H",
    Symbol("b", "", "taken off under the board, nothing at the tip of the heel", "mm"),
    Symbol("v", "inward_mm", "how far the fret plane goes in, turned about the tip", "mm"),
    Symbol("F", "board_mm", "thickness of the fingerboard", "mm"),
    Symbol("H", "heel_mm", "depth of the heel from the fret plane", "mm"),
    source="similar triangles",
    given={"inward_mm": 0.63, "board_mm": 6.5, "heel_mm": 90.0},
)
def wedge_at_board(inward_mm: float, board_mm: float, heel_mm: float) -> float:
    """What comes off the heel under the board for the neck to tip forward, in millimetres.

    The heel ends under the board, so the cut there is a little less than what the fret plane,
    over the board, goes in.

    >>> round(wedge_at_board(0.63, 6.5, 90.0), 2)
    0.58
    """
    above_zero(heel_mm=heel_mm)
    known(inward_mm=inward_mm, board_mm=board_mm)
    return inward_mm * (heel_mm - board_mm) / heel_mm


@formula(
    "scale-shortening",
    "How much a trimmed heel shortens the scale",
    "s = w · F / H; trimmed at the board, s = −w",
    Symbol("s", "", "the frets are so much nearer the bridge", "mm"),
    Symbol("w", "wedge_mm", "wedge: above zero at the tip of the heel, below at the board", "mm"),
    Symbol("F", "board_mm", "thickness of the fingerboard", "mm"),
    Symbol("H", "heel_mm", "depth of the heel from the fret plane", "mm"),
    source="similar triangles",
    given={"wedge_mm": 0.63, "board_mm": 6.0, "heel_mm": 90.0},
    places=3,
)
def scale_shortening(wedge_mm: float, board_mm: float, heel_mm: float) -> float:
    """How much nearer the bridge a trimmed neck brings its frets, in millimetres.

    Trimmed at the board the neck turns about the tip of its heel, from which the frets are the
    whole depth H away: they go in by all of the wedge.

    >>> round(scale_shortening(0.63, 6.0, 90.0), 3), scale_shortening(-0.63, 6.0, 90.0)
    (0.042, 0.63)
    """
    above_zero(heel_mm=heel_mm)
    known(wedge_mm=wedge_mm, board_mm=board_mm)
    return wedge_mm * board_mm / heel_mm if wedge_mm > 0 else -wedge_mm


@dataclass(frozen=True, slots=True)
class Heel:
    """What a neck reset is reckoned from: the depth of the heel from the fret plane, how far
    it is from the body joint to the saddle, the thickness of the board."""

    heel_mm: float
    joint_to_saddle_mm: float
    board_mm: float


@dataclass(frozen=True, slots=True)
class Reset:
    """What sets a neck again: the rise at the saddle, the wedge, and how much the scale loses.

    A ``wedge_mm`` above zero tips the neck back, one below it forward. ``off_mm`` comes off
    the heel: at its tip for the one, under the board for the other.
    """

    rise_mm: float
    wedge_mm: float
    off_mm: float
    shorter_mm: float
    reckoning: tuple[str, ...]
    told: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Clearance:
    """What a straightedge over the frets says; ``reset`` where the neck has to be set again and
    its heel is known."""

    gap_mm: float
    within: bool
    reset: Reset | None
    told: tuple[Finding, ...]


def reset(rise_mm: float, heel: Heel) -> Reset:
    """What to trim for the fret plane to rise so much at the saddle; below zero, to fall."""
    wedge = reset_wedge(rise_mm, heel.heel_mm, heel.joint_to_saddle_mm)
    shorter = scale_shortening(wedge, heel.board_mm, heel.heel_mm)
    deep, board = figure(heel.heel_mm), figure(heel.board_mm)
    turned = f"{figure(rise_mm)} × {deep} / {figure(heel.joint_to_saddle_mm)} = {length(wedge)}"
    if wedge >= 0:
        cut = wedge
        reckoning = (turned, f"{figure(wedge)} × {board} / {deep} = {length(shorter, 3)}")
    else:
        cut = wedge_at_board(-wedge, heel.board_mm, heel.heel_mm)
        reckoning = (turned, f"{figure(-wedge)} × ({deep} \u2212 {board}) / {deep} = {length(cut)}")
    if judged(wedge) == 0:
        return Reset(rise_mm, 0.0, 0.0, 0.0, reckoning, ())
    off = length(cut)
    words = (
        f"{off} comes off the tip of the heel, running out to nothing at the board: "
        f"the fret plane rises {length(abs(rise_mm))} at the saddle."
        if wedge > 0
        else f"{off} comes off the heel at the board, running out to nothing at its tip: "
        f"the fret plane falls {length(abs(rise_mm))} at the saddle."
    )
    told = warn(
        "neck-reset",
        words,
        "Measure from nut to saddle again before anything is glued: "
        f"the scale changes by about {length(abs(shorter), 3)}.",
        "lead",
    )
    return Reset(rise_mm, wedge, cut, shorter, reckoning, (told,))


def clearance(
    gap_mm: float,
    heel: Heel | None = None,
    *,
    least_mm: float = LEAST_MM,
    most_mm: float = MOST_MM,
) -> Clearance:
    """What a straightedge says that clears the bridge top by ``gap_mm``; below zero it meets
    the bridge so much under its top. With ``heel`` the wedge is reckoned that brings it to the
    middle of what is allowed."""
    known(gap_mm=gap_mm)
    if least_mm > most_mm:
        raise ValueError(f"clearance from {least_mm!r} to {most_mm!r} is no range")
    span = f"{figure(least_mm)} to {length(most_mm)}"
    gap = judged(gap_mm)
    if least_mm <= gap <= most_mm:
        words = f"The straightedge clears the bridge by {length(gap)}, within {span}."
        return Clearance(gap, within=True, reset=None, told=(note("clearance", words),))
    rise = judged((least_mm + most_mm) / 2 - gap)
    again = reset(rise, heel) if heel else None
    if gap < 0:
        words = f"The straightedge meets the bridge {length(-gap)} under its top."
    else:
        words = f"The straightedge clears the bridge by {length(gap)}, not {span}."
    low = gap < least_mm
    angle = "The neck leans too far forward." if low else "The neck leans too far back."
    found = stop(
        "clearance",
        f"{words} {angle}",
        f"Call the lead: the neck is set again, {signed(rise)}\u202fmm at the saddle.",
    )
    told = (found, *(again.told if again else ()))
    return Clearance(gap, within=False, reset=again, told=told)


def placed_after(read_mm: float, target_mm: float, shorter_mm: float) -> Finding:
    """Whether the bridge still stands right once a trimmed heel has brought the nut nearer."""
    known(read_mm=read_mm, target_mm=target_mm, shorter_mm=shorter_mm)
    off = judged(read_mm - shorter_mm - target_mm)
    words = (
        f"{figure(read_mm)} \u2212 {figure(shorter_mm, 3)} = "
        f"{length(read_mm - shorter_mm)} from nut to saddle, {signed(off)}\u202fmm off."
    )
    if abs(off) <= PLAY_MM:
        return note("neck-reset", words)
    return stop("neck-reset", words, "Glue nothing. Show the lead: the saddle slot has to move.")
