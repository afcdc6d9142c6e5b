"""The set-up as it was measured: action (R42), relief (R43) and the octaves (R44)."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Final

from shop.craft.finding import Basis, Finding
from shop.craft.fit.rule import KitCase, Limit, rule
from shop.craft.gauging.setting import ACTION, OCTAVE_OFF, RELIEF
from shop.craft.reading import Reading
from shop.craft.set_up.aims import ACTION_OFF_MM, Kind, aims
from shop.craft.set_up.figures import figure, length, signed
from shop.craft.set_up.saddle import saddle_change
from shop.craft.set_up.scale import saddle_move
from shop.craft.size import plain
from shop.craft.words import THIN, mm

# All common practice; a lead may set others for a spec revision.
ACTION_OFF = Limit("R42.off", ACTION_OFF_MM, "mm", "off what is aimed at either way")
ACTION_FAR = Limit("R42.far", Decimal("0.5"), "mm", "stopped above")
RELIEF_LEAST = Limit("R43.least", Decimal(0), "mm", "least relief of any neck")
RELIEF_MOST = Limit("R43.most", Decimal("0.50"), "mm", "most")
OCTAVE_ACCEPT = Limit("R44.accept", Decimal(3), "cents", "accepted either way up to")
OCTAVE_REWORK = Limit("R44.rework", Decimal(5), "cents", "stopped above")

AGAIN: Final = "Go no further. Set it up again, or report it so that it is sent back."
LOOSER: Final = (
    "Turn the rod 1/8 turn looser, eye protection on and the key fully seated, "
    "and measure again after 5\u202fmin."
)
TIGHTER: Final = (
    "Turn the rod 1/8 turn tighter, eye protection on and the key fully seated, "
    "and measure again after 5\u202fmin."
)
NYLON_LOOSER: Final = f"Where it has a rod: {LOOSER}"
NYLON_TIGHTER: Final = f"Where it has a rod: {TIGHTER}"


@rule(
    "R42",
    "String height over fret 12",
    reads=("action_bass_mm", "action_treble_mm", ACTION),
    limits=(ACTION_OFF, ACTION_FAR),
)
def action(case: KitCase) -> Iterator[Finding]:
    """A saddle changed by so much changes the string over fret 12 by half of it."""
    aimed = aims(case.spec)
    for one in case.call.readings.of(ACTION):
        target = aimed.action_mm(one.place)
        off = one.value - target
        if abs(off) <= min(case.limit(ACTION_OFF), case.limit(ACTION_FAR)):
            continue
        side, height, aim = one.place, mm(one.value), mm(target)
        away = mm(abs(off))
        change = length(abs(saddle_change(float(off), float(case.spec.scale_mm))))
        if off > 0:
            words = f"{height} over fret 12 on the {side} side is {away} over {aim}."
            then = f"Lower the {side} side of the saddle {change} and measure again."
        else:
            words = f"{height} over fret 12 on the {side} side is {away} under {aim}."
            then = f"Raise the {side} side of the saddle {change} and measure again."
        why = case.basis(
            (f"Over fret 12, {side} side", height),
            (case.spec.name, aim),
            reckoning=f"{plain(one.value)} \u2212 {plain(target)} = {signed(float(off))} mm",
            uses=(ACTION_OFF, ACTION_FAR),
        )
        if abs(off) > case.limit(ACTION_FAR):
            yield case.stop(words, AGAIN, why)
        else:
            yield case.warn(words, f"{then} Or say why you go on.", why)


@rule(
    "R43",
    "Relief of the neck",
    reads=("relief_least_mm", "relief_most_mm", RELIEF),
    limits=(RELIEF_LEAST, RELIEF_MOST),
)
def relief(case: KitCase) -> Iterator[Finding]:
    """Between what this spec asks for; never bent backwards, never like a bow."""
    aimed = aims(case.spec)
    for one in case.call.readings.of(RELIEF):
        few, much = one.value < case.limit(RELIEF_LEAST), one.value > case.limit(RELIEF_MOST)
        low, high = one.value < aimed.relief_least_mm, one.value > aimed.relief_most_mm
        if not (few or much or low or high):
            continue
        turn = _turn(aimed.kind, tighter=much or (high and not few))
        value = mm(one.value)
        if few or much:
            words = f"Relief is {value}: the neck is too straight."
            if one.value < 0:
                words = f"Relief is {value}: the neck is bent backwards."
            if much:
                words = f"Relief is {value}: the neck is bowed."
            then = f"{turn} No change after one full turn: go no further."
            yield case.stop(words, then, _why_relief(case, one))
            continue
        span = f"{mm(aimed.relief_least_mm)} to {mm(aimed.relief_most_mm)}"
        words = f"Relief is {value}: this spec asks for {span}."
        yield case.warn(words, f"{turn} Or say why you go on.", _why_relief(case, one, span))


def _turn(kind: Kind, *, tighter: bool) -> str:
    if kind is Kind.NYLON:
        return NYLON_TIGHTER if tighter else NYLON_LOOSER
    return TIGHTER if tighter else LOOSER


def _why_relief(case: KitCase, one: Reading, span: str = "") -> Basis:
    aimed = (case.spec.name, f"relief {span}") if span else None
    return case.basis(
        ("Relief at fret 7", mm(one.value)),
        *((aimed,) if aimed else ()),
        reckoning=mm(one.value),
        limit=f"relief {span}" if span else "",
        uses=() if span else (RELIEF_LEAST, RELIEF_MOST),
    )


@rule(
    "R44",
    "Octave of each string",
    reads=(OCTAVE_OFF,),
    limits=(OCTAVE_ACCEPT, OCTAVE_REWORK),
)
def octaves(case: KitCase) -> Iterator[Finding]:
    """The note at fret 12 against twice the open string, mended at the saddle."""
    accept, rework = case.limit(OCTAVE_ACCEPT), case.limit(OCTAVE_REWORK)
    scale = float(case.spec.scale_mm)
    for one in case.call.readings.of(OCTAVE_OFF):
        far = abs(one.value)
        if far <= min(accept, rework):
            continue
        string, off = one.place, f"{plain(far)}{THIN}cents"
        move = length(abs(saddle_move(float(one.value), scale)))
        if one.value > 0:
            words = f"String {string}: the octave is {off} sharp."
            then = f"Move its point on the saddle {move} back and measure again."
        else:
            words = f"String {string}: the octave is {off} flat."
            then = f"Move its point on the saddle {move} towards the nut and measure again."
        why = case.basis(
            (f"Octave of string {string}", f"{signed(float(one.value), 1)}{THIN}cents"),
            reckoning=f"{figure(float(far), 1)} × {plain(case.spec.scale_mm)} / 1731 = {move}",
            uses=(OCTAVE_ACCEPT, OCTAVE_REWORK),
        )
        if far > rework:
            yield case.stop(words, f"{then} What it cannot make up is sent back.", why)
        else:
            yield case.warn(words, f"{then} Or say why you go on.", why)


RULES = (action, relief, octaves)
