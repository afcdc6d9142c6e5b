"""How high a string passes over a fret, and how far it swings there.

Heights are millimetres above the fret plane, the plane through the tops of the frets of a
straight neck; places are millimetres from the nut.
"""

from __future__ import annotations

from shop.craft.formula import COMMON, Symbol, formula


@formula(
    "fret-clearance",
    "Fretted string over a higher fret",
    "c = yn + (ys \u2212 yn) · (xm \u2212 xn)/(L \u2212 xn) \u2212 ym",
    Symbol("yn", "pressed_mm", "height of the fret pressed, or of the slot floor", "mm"),
    Symbol("ys", "saddle_mm", "string at the saddle", "mm"),
    Symbol("ym", "over_mm", "height of the higher fret", "mm"),
    Symbol("xn", "pressed_at_mm", "nut to the fret pressed", "mm"),
    Symbol("xm", "over_at_mm", "nut to the higher fret", "mm"),
    Symbol("L", "scale_mm", "scale length", "mm"),
    Symbol("c", "", "clearance over the higher fret", "mm"),
    source="derived: the string is a straight line from the fret pressed to the saddle",
    given={
        "pressed_mm": 0.0,
        "saddle_mm": 4.0,
        "over_mm": 0.0,
        "pressed_at_mm": 161.80,
        "over_at_mm": 188.92,
        "scale_mm": 645.0,
    },
)
def clearance(
    pressed_mm: float,
    saddle_mm: float,
    over_mm: float,
    pressed_at_mm: float,
    over_at_mm: float,
    scale_mm: float,
) -> float:
    """How far a string at rest passes over a higher fret.

    >>> round(clearance(0.0, 4.0, 0.0, 161.80, 188.92, 645.0), 2)
    0.22
    """
    along = (over_at_mm - pressed_at_mm) / (scale_mm - pressed_at_mm)
    return pressed_mm + (saddle_mm - pressed_mm) * along - over_mm


@formula(
    "pluck-envelope",
    "How far a plucked string swings",
    "e = 4 · a0 · (x \u2212 xn)(L \u2212 x)/(L \u2212 xn)²",
    Symbol("a0", "amplitude_mm", "swing in the middle of the string", "mm"),
    Symbol("x", "at_mm", "nut to the place looked at", "mm"),
    Symbol("xn", "pressed_at_mm", "nut to the fret pressed", "mm"),
    Symbol("L", "scale_mm", "scale length", "mm"),
    Symbol("e", "", "swing there", "mm"),
    source=COMMON,
    given={"amplitude_mm": 0.8, "at_mm": 188.92, "pressed_at_mm": 161.80, "scale_mm": 645.0},
)
def swing(amplitude_mm: float, at_mm: float, pressed_at_mm: float, scale_mm: float) -> float:
    """How far the string swings at a place, with this amplitude in its middle.

    >>> round(swing(0.8, 188.92, 161.80, 645.0), 2)
    0.17
    """
    inside = (at_mm - pressed_at_mm) * (scale_mm - at_mm)
    return 4 * amplitude_mm * inside / (scale_mm - pressed_at_mm) ** 2


@formula(
    "neck-curve",
    "How far a fret lies below the plane by relief",
    "k = 4 · r · (x \u2212 xa)(xb \u2212 x)/(xb \u2212 xa)², nothing outside xa to xb",
    Symbol("r", "relief_mm", "relief, read in the middle", "mm"),
    Symbol("x", "at_mm", "nut to the fret", "mm"),
    Symbol("xa", "from_mm", "nut to fret 1", "mm"),
    Symbol("xb", "to_mm", "nut to the fret at the body joint", "mm"),
    Symbol("k", "", "how far the fret lies below the plane", "mm"),
    source=COMMON,
    given={"relief_mm": 0.20, "at_mm": 214.51, "from_mm": 36.20, "to_mm": 357.69},
)
def sag(relief_mm: float, at_mm: float, from_mm: float, to_mm: float) -> float:
    """The curve of a neck with relief, as a parabola between its two ends.

    >>> round(sag(0.20, 214.51, 36.20, 357.69), 2)
    0.2
    """
    inside = max(0.0, (at_mm - from_mm) * (to_mm - at_mm))
    return 4 * relief_mm * inside / (to_mm - from_mm) ** 2


@formula(
    "saddle-from-action",
    "String at the saddle, from the action",
    "ys = 2 · (A12 \u2212 k12) \u2212 y0",
    Symbol("A12", "action_mm", "string over fret 12, open", "mm"),
    Symbol("k12", "sag_mm", "how far fret 12 lies below the plane by relief", "mm"),
    Symbol("y0", "floor_mm", "slot floor over the fret plane", "mm"),
    Symbol("ys", "", "string over the fret plane at the saddle", "mm"),
    source="derived: fret 12 is half way, so the height there is the mean of both ends",
    given={"action_mm": 2.0, "sag_mm": 0.0, "floor_mm": 0.0},
)
def saddle_height(action_mm: float, sag_mm: float, floor_mm: float) -> float:
    """The string at the saddle over the fret plane.

    >>> saddle_height(2.0, 0.0, 0.0)
    4.0
    """
    return 2 * (action_mm - sag_mm) - floor_mm


@formula(
    "saddle-from-readings",
    "String at the saddle, from the first fret and the action",
    "ys = c1 + (A12 \u2212 k12 \u2212 c1) · (L \u2212 x1)/(x12 \u2212 x1)",
    Symbol("c1", "clearance_mm", "string over fret 1, open", "mm"),
    Symbol("A12", "action_mm", "string over fret 12, open", "mm"),
    Symbol("k12", "sag_mm", "how far fret 12 lies below the plane by relief", "mm"),
    Symbol("x1", "fret_1_mm", "nut to fret 1", "mm"),
    Symbol("x12", "fret_12_mm", "nut to fret 12", "mm"),
    Symbol("L", "scale_mm", "scale length", "mm"),
    Symbol("ys", "", "string over the fret plane at the saddle", "mm"),
    source="derived: the string is a straight line over fret 1, fret 12 and the saddle",
    given={
        "clearance_mm": 0.40,
        "action_mm": 2.47,
        "sag_mm": 0.0,
        "fret_1_mm": 36.20,
        "fret_12_mm": 322.50,
        "scale_mm": 645.0,
    },
)
def saddle_by_readings(
    clearance_mm: float,
    action_mm: float,
    sag_mm: float,
    fret_1_mm: float,
    fret_12_mm: float,
    scale_mm: float,
) -> float:
    """The string at the saddle, both readings being of the same string.

    >>> round(saddle_by_readings(0.40, 2.47, 0.0, 36.20, 322.50, 645.0), 2)
    4.8
    """
    rise = (action_mm - sag_mm - clearance_mm) / (fret_12_mm - fret_1_mm)
    return clearance_mm + rise * (scale_mm - fret_1_mm)
