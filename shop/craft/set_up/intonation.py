"""Intonation: how far each string's note at fret 12 is from the octave of the string open.

Sharp, the string is too short and its point on the saddle goes away from the nut; flat, towards
it. Some listeners begin to notice about 6 cents (published tests of listeners).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from shop.craft.finding import Finding, Severity, note, stop, warn
from shop.craft.set_up.figures import above_zero, figure, judged, known, length, signed
from shop.craft.set_up.scale import (
    A4_HZ,
    TUNING_CENTS,
    cents,
    open_hz,
    open_note,
    saddle_move,
)

ACCEPT_CENTS: Final = 3.0  # common practice, no source
REWORK_CENTS: Final = 5.0  # common practice, no source
STRANGE_CENTS: Final = 60.0  # another note was heard, or another string

Way = Literal["back", "forward", ""]


@dataclass(frozen=True, slots=True)
class Heard:
    """One string as heard: the open string, or its harmonic at fret 12, and the string pressed
    at 12, both in cents against the note each should be."""

    open_cents: float
    octave_cents: float


@dataclass(frozen=True, slots=True)
class StringOctave:
    """One string's octave. ``off_cents`` is sharp where positive; ``move_mm`` is how far its
    point on the saddle goes, ``way`` where to: "back" is away from the nut."""

    string: str
    off_cents: float
    move_mm: float
    way: Way
    severity: Severity
    reckoning: str


@dataclass(frozen=True, slots=True)
class Intonation:
    """Every string's octave, in the order it was given, and what is told of them."""

    strings: tuple[StringOctave, ...]
    told: tuple[Finding, ...]

    @property
    def accepted(self) -> bool:
        return all(one.severity is Severity.NOTE for one in self.strings)


@dataclass(frozen=True, slots=True)
class Tuned:
    """An open string against its note."""

    string: str
    note: str
    off_cents: float
    told: Finding


def heard(string: str, open_at_hz: float, octave_at_hz: float, a4_hz: float = A4_HZ) -> Heard:
    """What was heard in hertz, in cents against the string's own note and its octave.

    >>> one = heard("5", 110.0, 220.3)
    >>> round(one.open_cents, 1), round(one.octave_cents, 1)
    (0.0, 2.4)
    """
    above_zero(open_at_hz=open_at_hz, octave_at_hz=octave_at_hz)
    wanted = open_hz(string, a4_hz)
    return Heard(cents(open_at_hz, wanted), cents(octave_at_hz, 2 * wanted))


def judge(
    strings: Mapping[str, Heard],
    scale_mm: float,
    *,
    accept_cents: float = ACCEPT_CENTS,
    rework_cents: float = REWORK_CENTS,
) -> Intonation:
    """How far each string's point on the saddle has to move, and whether it has to.

    Within ``accept_cents`` it is left, beyond ``rework_cents`` it is worked on; between, the
    lead decides.
    """
    above_zero(scale_mm=scale_mm)
    known(accept_cents=accept_cents, rework_cents=rework_cents)  # a lead may set 0
    judged_ = tuple(
        _judged(string, one, scale_mm, accept_cents, rework_cents)
        for string, one in strings.items()
    )
    return Intonation(judged_, tuple(_told(judged_, accept_cents, rework_cents)))


def tuned(string: str, cents_off: float, within_cents: float = TUNING_CENTS) -> Tuned:
    """An open string so many cents off its note: left as it is, or tuned up or down.

    >>> tuned("6", -7.0).told.words
    'String 6 is 7 cents below E2.'
    """
    known(cents_off=cents_off)
    name, off = open_note(string), judged(cents_off)
    if abs(off) <= within_cents:
        words = f"String {string} is in tune: {signed(off, 1)} cents from {name}."
        return Tuned(string, name, off, note("tuning", words))
    by = figure(abs(off), 1)
    if off > 0:
        words = f"String {string} is {by} cents above {name}."
        told = warn("tuning", words, "Slack it below its note and tune up to it.")
    else:
        told = warn("tuning", f"String {string} is {by} cents below {name}.", "Tune up to it.")
    return Tuned(string, name, off, told)


def _judged(
    string: str, one: Heard, scale_mm: float, accept_cents: float, rework_cents: float
) -> StringOctave:
    known(open_cents=one.open_cents, octave_cents=one.octave_cents)
    off = judged(one.octave_cents - one.open_cents)
    move = judged(saddle_move(off, scale_mm))
    far = abs(off)
    severity = (
        Severity.NOTE
        if far <= accept_cents
        else Severity.WARN
        if far <= rework_cents
        else Severity.STOP
    )
    way: Way = "" if severity is Severity.NOTE else "back" if off > 0 else "forward"
    reckoning = (
        f"{figure(one.octave_cents, 1)} \u2212 {figure(one.open_cents, 1)} = {signed(off, 1)}; "
        f"{figure(off, 1)} × {figure(scale_mm)} / 1731 = {length(move)}"
    )
    return StringOctave(string, off, move, way, severity, reckoning)


def _told(
    strings: tuple[StringOctave, ...], accept_cents: float, rework_cents: float
) -> Iterator[Finding]:
    off = [one for one in strings if one.severity is not Severity.NOTE]
    if strings and not off:
        yield note(
            "octave", f"Every octave is within {figure(accept_cents, 1)} cents: nothing moves."
        )
    for one in sorted(off, key=lambda one: -abs(one.off_cents)):
        if abs(one.off_cents) > STRANGE_CENTS:
            yield stop(
                "octave-read",
                f"String {one.string}: {signed(one.off_cents, 1)} cents is no octave of it.",
                "See that the note at fret 12 was of the same string, and measure again.",
                "",
            )
            continue
        yield _worked(one, accept_cents, rework_cents)


def _worked(one: StringOctave, accept_cents: float, rework_cents: float) -> Finding:
    by, move = figure(abs(one.off_cents), 1), length(abs(one.move_mm))
    words = (
        f"String {one.string}: the octave is {by} cents sharp."
        if one.way == "back"
        else f"String {one.string}: the octave is {by} cents flat."
    )
    then = (
        f"Move its point on the saddle {move} back, away from the nut."
        if one.way == "back"
        else f"Move its point on the saddle {move} forward, towards the nut."
    )
    if one.severity is Severity.STOP:
        worked = f"Over {figure(rework_cents, 1)} cents it is worked on."
        return stop("octave", f"{words} {worked}", then, "")
    accepted = f"Up to {figure(accept_cents, 1)} cents it is left."
    asked = "Or ask the lead to let it be."
    return warn("octave", f"{words} {accepted}", f"{then} {asked}", "lead")
