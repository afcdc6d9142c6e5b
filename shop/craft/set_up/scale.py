"""Where the frets lie, and which notes they give.

L is the scale length: from the front of the nut to where the saddle would stand if strings
could be fretted without stretching. Twelve equal steps make an octave (twelve-tone equal
temperament); A4 is 440 Hz (ISO 16:1975).
"""

from __future__ import annotations

import math
import re
from typing import Final

from shop.craft.formula import Symbol, formula
from shop.craft.set_up.figures import above_zero, known

STEPS: Final = 12  # of an octave
CENTS: Final = 1200  # of an octave
DIVISOR: Final = 17.817  # of the old rule; exactly 1 / (1 − 2^(−1/12)) = 17.817153745…
A4_HZ: Final = 440.0
A4_NUMBER: Final = 69  # notes are numbered by half steps, A4 being 69
TUNING_CENTS: Final = 3.0  # an open string in tune; common practice, no source

OPEN: Final = {"6": "E2", "5": "A2", "4": "D3", "3": "G3", "2": "B3", "1": "E4"}
"""The note of each string, open, in standard tuning."""
OCTAVE_STRINGS: Final = {"6o": "E3", "5o": "A3", "4o": "D4", "3o": "G4"}
"""Of a guitar strung in pairs: the octave string of each pair."""

_EQUAL: Final = "twelve-tone equal temperament"
_PLACES: Final = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_NOTE: Final = re.compile(r"([A-G])([#b]?)(-?\d)")
_SCALE: Final = Symbol("L", "scale_mm", "scale length", "mm")
_FRET: Final = Symbol("n", "fret", "fret, counted from the nut", "")


@formula(
    "fret-place",
    "Where a fret lies",
    "x = L · (1 − 2^(−n/12))",
    Symbol("x", "", "from the front of the nut to the middle of the fret", "mm"),
    _SCALE,
    _FRET,
    source=_EQUAL,
    given={"scale_mm": 645.0, "fret": 14},
)
def fret_place(scale_mm: float, fret: float) -> float:
    """From the nut to a fret, in millimetres; fret 0 is the nut.

    >>> round(fret_place(645.0, 12), 2), round(fret_place(645.0, 14), 2)
    (322.5, 357.69)
    """
    above_zero(scale_mm=scale_mm)
    return scale_mm * (1 - 2 ** (-fret / STEPS))


@formula(
    "fret-to-bridge",
    "From a fret to the bridge",
    "d = L · 2^(−n/12)",
    Symbol("d", "", "from the middle of the fret to the end of the scale", "mm"),
    _SCALE,
    _FRET,
    source=_EQUAL,
    given={"scale_mm": 645.0, "fret": 14},
)
def fret_to_bridge(scale_mm: float, fret: float) -> float:
    """What is left of the scale beyond a fret, in millimetres: at the body joint, D14.

    >>> round(fret_to_bridge(645.0, 14), 2)
    287.31
    """
    above_zero(scale_mm=scale_mm)
    return float(scale_mm * 2 ** (-fret / STEPS))


@formula(
    "fret-rule",
    "Where a fret lies by the rule of 17.817",
    "x(n) = x(n − 1) + (L − x(n − 1)) / k",
    Symbol("x", "", "from the front of the nut to the middle of the fret", "mm"),
    _SCALE,
    _FRET,
    Symbol("k", "divisor", "what the rest of the scale is divided by", ""),
    source="the rule of 17.817 of printed building guides, kept here as a control",
    given={"scale_mm": 650.0, "fret": 12, "divisor": DIVISOR},
    places=3,
)
def place_by_rule(scale_mm: float, fret: int, divisor: float = DIVISOR) -> float:
    """The same place by hand: fret after fret, the rest of the scale over 17.817.

    >>> round(place_by_rule(650.0, 12), 3), round(place_by_rule(650.0, 12, 18.0), 2)
    (325.002, 322.64)
    """
    above_zero(scale_mm=scale_mm, divisor=divisor)
    at = 0.0
    for _ in range(fret):
        at += (scale_mm - at) / divisor
    return at


@formula(
    "note-frequency",
    "How high a note is",
    "f = A · 2^((m − 69)/12)",
    Symbol("f", "", "frequency of the note", "Hz"),
    Symbol("m", "number", "number of the note by half steps, A4 being 69, E2 being 40", ""),
    Symbol("A", "a4_hz", "frequency of A4", "Hz"),
    source=f"{_EQUAL}; A4 = 440 Hz by ISO 16:1975",
    given={"number": 40, "a4_hz": A4_HZ},
)
def note_frequency(number: float, a4_hz: float = A4_HZ) -> float:
    """The frequency of a note in hertz.

    >>> round(note_frequency(40), 2), round(note_frequency(64), 2)
    (82.41, 329.63)
    """
    above_zero(a4_hz=a4_hz)
    return float(a4_hz * 2 ** ((number - A4_NUMBER) / STEPS))


@formula(
    "cents",
    "How far apart two notes are",
    "c = 1200 · log2(f / f0)",
    Symbol("c", "", "how much higher the note is", "cents"),
    Symbol("f", "frequency_hz", "frequency of the note", "Hz"),
    Symbol("f0", "from_hz", "frequency of the note it is held against", "Hz"),
    source="the cent, a twelve-hundredth of an octave",
    given={"frequency_hz": 441.27, "from_hz": 440.0},
)
def cents(frequency_hz: float, from_hz: float) -> float:
    """How many cents a note is above another; below it is negative.

    >>> round(cents(660.0, 440.0), 3), round(cents(220.0, 440.0), 1)
    (701.955, -1200.0)
    """
    above_zero(frequency_hz=frequency_hz, from_hz=from_hz)
    return CENTS * math.log2(frequency_hz / from_hz)


@formula(
    "from-cents",
    "A note so many cents away",
    "f = f0 · 2^(c/1200)",
    Symbol("f", "", "frequency of the note", "Hz"),
    Symbol("f0", "from_hz", "frequency it is counted from", "Hz"),
    Symbol("c", "by_cents", "how much higher it is", "cents"),
    source="the cent, a twelve-hundredth of an octave",
    given={"from_hz": 440.0, "by_cents": 5.0},
)
def at_cents(from_hz: float, by_cents: float) -> float:
    """The frequency so many cents above another, in hertz.

    >>> round(at_cents(440.0, 5.0), 2), round(at_cents(440.0, 100.0), 2)
    (441.27, 466.16)
    """
    above_zero(from_hz=from_hz)
    known(by_cents=by_cents)
    return float(from_hz * 2 ** (by_cents / CENTS))


@formula(
    "saddle-cents",
    "What a saddle moved back does to the octave",
    "c = 1200 / ln 2 · d / L",
    Symbol("c", "", "how much flatter the note at fret 12 is against the open octave", "cents"),
    Symbol("d", "back_mm", "how far the saddle is further from the nut", "mm"),
    _SCALE,
    source="follows from string length and frequency being in inverse proportion",
    given={"back_mm": 1.3, "scale_mm": 645.0},
    places=1,
)
def saddle_cents(back_mm: float, scale_mm: float) -> float:
    """How many cents flat a saddle too far back makes the octave; too near is negative.

    The string fretted at 12 is L/2 + d long, the open one L + d, so the octave falls by
    1200 · log2((L + 2·d)/(L + d)), for a small d as good as 1200/ln 2 · d/L.

    >>> round(saddle_cents(1.3, 645.0), 1), round(saddle_cents(0.373, 645.0), 2)
    (3.5, 1.0)
    """
    above_zero(scale_mm=scale_mm)
    known(back_mm=back_mm)
    return CENTS / math.log(2) * back_mm / scale_mm


@formula(
    "saddle-move",
    "How far a saddle goes to mend an octave",
    "d = c · L · ln 2 / 1200",
    Symbol("d", "", "how far the saddle goes away from the nut", "mm"),
    Symbol("c", "sharp_cents", "how sharp the note at fret 12 is against the open octave", "cents"),
    _SCALE,
    source="follows from string length and frequency being in inverse proportion",
    given={"sharp_cents": 1.0, "scale_mm": 645.0},
    places=3,
)
def saddle_move(sharp_cents: float, scale_mm: float) -> float:
    """How far back a saddle goes for an octave so many cents sharp; flat is forward, negative.

    >>> round(saddle_move(1.0, 645.0), 3), round(saddle_move(-3.0, 645.0), 2)
    (0.373, -1.12)
    """
    above_zero(scale_mm=scale_mm)
    known(sharp_cents=sharp_cents)
    return sharp_cents * scale_mm * math.log(2) / CENTS


def note_number(name: str) -> int:
    """The number of a note by its name, octaves counted from C: "E2" is the thick string.

    >>> note_number("A4"), note_number("E2"), note_number("F#4"), note_number("Gb4")
    (69, 40, 66, 66)

    Raises ``ValueError`` for what is no note.
    """
    found = _NOTE.fullmatch(name)
    if found is None:
        raise ValueError(f"{name!r} is no note such as E2 or F#3")
    letter, sign, octave = found.groups()
    return STEPS * (int(octave) + 1) + _PLACES[letter] + {"#": 1, "b": -1, "": 0}[sign]


def open_note(string: str) -> str:
    """The note of a string, open, in standard tuning: "6" is E2, its octave string "6o" E3.
    The second string of a pair in unison ("1'") has the note of the first.

    >>> open_note("6"), open_note("6o"), open_note("1'")
    ('E2', 'E3', 'E4')

    Raises ``ValueError`` for a string no guitar has.
    """
    note = OCTAVE_STRINGS.get(string) or OPEN.get(string.rstrip("'"))
    if note is None:
        raise ValueError(f"{string!r} is no string of a guitar")
    return note


def open_hz(string: str, a4_hz: float = A4_HZ) -> float:
    """The frequency of a string, open, in standard tuning.

    >>> round(open_hz("6"), 2), round(open_hz("1"), 2)
    (82.41, 329.63)
    """
    return note_frequency(note_number(open_note(string)), a4_hz)
