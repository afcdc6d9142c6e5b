"""What comes off the saddle for the action that is wanted, and what is left of it.

The string is a straight line from the nut to the saddle, so a change at a fret is as much
larger at the saddle as the saddle is further from the nut: twice, for fret 12. What is taken
off comes off the base. An element under the saddle lifts it by its own height, so as much more
is taken off the base; that changes nothing above the bridge.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from shop.craft.finding import Finding, any_stop, note, stop, warn
from shop.craft.formula import Symbol, formula
from shop.craft.set_up.figures import above_zero, figure, judged, known, length
from shop.craft.set_up.neck import Heel, Reset, reset
from shop.craft.set_up.scale import fret_place

FRET: Final = 12  # where action is read
FLAT_MM: Final = 0.03  # of the base, or the element is dead; common practice, no source
IDEAL_MM: Final = 3.2  # proud of the bridge; published with a bridge of 9.5
SLOT_SHARE: Final = 2 / 3  # of a saddle that should stand in its slot
STRANGE_MM: Final = 12.0  # no action is that high

CAUTION: Final = (
    "Bone dust: wear a mask and wipe wet. Slack the strings before you lift the saddle."
)


@formula(
    "saddle-change",
    "What a change of action is at the saddle",
    "s = Δ · (L + C) / x",
    Symbol("s", "", "change of the saddle's height", "mm"),
    Symbol("Δ", "change_mm", "wanted change of the string's height at the fret", "mm"),
    Symbol("L", "scale_mm", "scale length", "mm"),
    Symbol("C", "compensation_mm", "compensation; 0 gives the rule of two at fret 12", "mm"),
    Symbol("x", "fret", "place of the fret of this number, from the nut", "mm"),
    source="similar triangles; the rule of two in Acoustic Guitar, July 2013",
    given={"change_mm": 0.6, "scale_mm": 645.0, "fret": 12, "compensation_mm": 0.0},
)
def saddle_change(
    change_mm: float, scale_mm: float, fret: float = FRET, compensation_mm: float = 0.0
) -> float:
    """How much the saddle changes for the string to change so much over a fret, in millimetres.

    >>> round(saddle_change(0.6, 645.0), 2), round(saddle_change(0.6, 645.0, 14), 2)
    (1.2, 1.08)
    """
    above_zero(scale_mm=scale_mm, fret=fret)
    known(change_mm=change_mm, compensation_mm=compensation_mm)
    return change_mm * (scale_mm + compensation_mm) / fret_place(scale_mm, fret)


@dataclass(frozen=True, slots=True)
class Limits:
    """How far a saddle may stand above the bridge, in millimetres: outside ``least`` and
    ``most`` the neck's angle is wrong, outside ``low`` and ``high`` it is looked at."""

    least_mm: float = 2.0
    low_mm: float = 2.5
    high_mm: float = 4.5
    most_mm: float = 5.0


@dataclass(frozen=True, slots=True)
class Side:
    """One side as measured: the action over the fret, what is wanted, the saddle's height above
    the bridge now."""

    action_mm: float
    target_mm: float
    proud_mm: float


@dataclass(frozen=True, slots=True)
class Cut:
    """One side as planned: ``off_mm`` comes off for the action (negative: too low already),
    ``base_mm`` off the base with the element counted in, ``left_mm`` stays above the bridge."""

    side: Literal["bass", "treble"]
    off_mm: float
    base_mm: float
    left_mm: float


@dataclass(frozen=True, slots=True)
class SaddlePlan:
    """What is done to a saddle. ``reset`` where a neck reset comes first."""

    bass: Cut
    treble: Cut
    reset: Reset | None
    reckoning: tuple[str, ...]
    told: tuple[Finding, ...]

    @property
    def takes_off(self) -> bool:
        """Whether anything is to come off: then the dust of it is told."""
        return not any_stop(self.told) and (self.bass.base_mm > 0 or self.treble.base_mm > 0)


def plan(
    bass: Side,
    treble: Side,
    scale_mm: float,
    *,
    fret: int = FRET,
    element_mm: float = 0.0,
    slot_mm: float | None = None,
    tolerance_mm: float = 0.0,
    limits: Limits | None = None,
    heel: Heel | None = None,
) -> SaddlePlan:
    """What comes off a saddle for the action that is wanted at both sides.

    ``element_mm`` is the height of an element under the saddle that the base is not yet cut
    for, ``slot_mm`` the depth of the slot where known. A side within ``tolerance_mm`` of its
    target is left: so much over fret 12, and at another fret what is as much at the saddle.
    With ``heel`` the wedge of a neck reset is reckoned where the limits for what is left above
    the bridge are passed.
    """
    above_zero(scale_mm=scale_mm)
    known(element_mm=element_mm, tolerance_mm=tolerance_mm)
    allowed = limits or Limits()
    cuts = tuple(
        _cut(name, side, scale_mm, fret, element_mm, tolerance_mm)
        for name, side in _sides(bass, treble)
    )
    strange = tuple(_strange(bass, treble))
    if strange:
        return SaddlePlan(cuts[0], cuts[1], None, (), strange)
    outside = [one for one in cuts if not allowed.least_mm <= one.left_mm <= allowed.most_mm]
    again = _reset(outside, heel) if outside and heel else None
    told = [
        *(one for cut in cuts for one in _height(cut, allowed)),
        *(again.told if again else ()),
        *([] if outside else _work(cuts, element_mm)),
        *(one for cut in cuts for one in _slot(cut, slot_mm)),
    ]
    reckoning = (
        *(
            one
            for (_, side), cut in zip(_sides(bass, treble), cuts, strict=True)
            for one in _reckoned(side, cut, scale_mm, fret, element_mm)
        ),
        *(again.reckoning if again else ()),
    )
    return SaddlePlan(cuts[0], cuts[1], again, reckoning, tuple(told))


def _sides(bass: Side, treble: Side) -> tuple[tuple[Literal["bass", "treble"], Side], ...]:
    return ("bass", bass), ("treble", treble)


def _strange(bass: Side, treble: Side) -> Iterator[Finding]:
    for name, side in _sides(bass, treble):
        if not 0 <= side.action_mm <= STRANGE_MM:
            yield stop(
                "saddle-read",
                f"{length(side.action_mm)} of action on the {name} side cannot be.",
                "Measure again from the top of the fret to the underside of the string.",
                "",
            )


def _cut(
    name: Literal["bass", "treble"],
    side: Side,
    scale_mm: float,
    fret: int,
    element_mm: float,
    tolerance_mm: float,
) -> Cut:
    change = judged(side.action_mm - side.target_mm)
    off = judged(saddle_change(change, scale_mm, fret))
    if abs(off) <= judged(saddle_change(tolerance_mm, scale_mm, FRET)):
        off = 0.0
    return Cut(name, off, judged(off + element_mm), judged(side.proud_mm - off))


def _reset(outside: list[Cut], heel: Heel) -> Reset:
    """The reset that leaves the worst side standing as it should."""
    worst = max(outside, key=lambda one: abs(IDEAL_MM - one.left_mm))
    return reset(judged(IDEAL_MM - worst.left_mm), heel)


def _height(cut: Cut, limits: Limits) -> Iterator[Finding]:
    """What R32 says of what would be left above the bridge."""
    left = cut.left_mm
    if not limits.least_mm <= left <= limits.most_mm:
        much = "too little" if left < limits.least_mm else "too much"
        yield stop(
            "R32",
            f"{length(left)} would be left above the bridge on the {cut.side} side, "
            f"{much}: the neck angle is wrong.",
            "Cut nothing off the saddle. The lead sends it to repair to have its neck set again.",
        )
    elif not limits.low_mm <= left <= limits.high_mm:
        stays = f"{length(left)} stays above the bridge on the {cut.side} side."
        usual = (
            "That is less than is usual." if left < limits.low_mm else "That is more than is usual."
        )
        yield warn("R32", f"{stays} {usual}", "Look at the strings over the saddle, then go on.")


def _work(cuts: tuple[Cut, ...], element_mm: float) -> Iterator[Finding]:
    low = [one for one in cuts if one.off_mm < 0]
    for one in low:
        yield stop(
            "saddle",
            f"The action on the {one.side} side is too low already: the saddle would have to be "
            f"{length(-one.off_mm)} higher.",
            "Make a new saddle. Nothing is put under this one.",
            "",
        )
    if low:
        return
    if not any(one.base_mm for one in cuts):
        yield note("saddle", "The action is as wanted on both sides: nothing comes off.")
        return
    bass, treble = cuts
    flat = f"Keep the base flat to {length(FLAT_MM)}, then measure the action again."
    if element_mm:
        yield note(
            "saddle",
            f"Take {length(bass.base_mm)} off the base of the saddle at the bass end and "
            f"{length(treble.base_mm)} at the treble end, {length(element_mm)} of it for the "
            "element.",
            flat,
        )
    else:
        yield note(
            "saddle",
            f"Take {length(bass.off_mm)} off the base of the saddle at the bass end and "
            f"{length(treble.off_mm)} at the treble end.",
            flat,
        )


def _slot(cut: Cut, slot_mm: float | None) -> Iterator[Finding]:
    if slot_mm is None or cut.left_mm <= 0 or slot_mm <= 0:
        return
    share = slot_mm / (slot_mm + cut.left_mm)
    if judged(share) < judged(SLOT_SHARE):
        yield warn(
            "saddle-slot",
            f"{figure(100 * share, 0)} % of the saddle would stand in its slot on the "
            f"{cut.side} side, less than two thirds: it may lean.",
            "Show it to the lead before the strings go on.",
            "lead",
        )


def _reckoned(side: Side, cut: Cut, scale_mm: float, fret: int, element_mm: float) -> Iterator[str]:
    change = judged(side.action_mm - side.target_mm)
    ratio = figure(scale_mm / fret_place(scale_mm, fret), 3)
    if cut.off_mm or not change:
        yield (
            f"({figure(side.action_mm)} \u2212 {figure(side.target_mm)}) × {ratio} "
            f"= {length(cut.off_mm)}"
        )
    if element_mm:
        yield f"{figure(cut.off_mm)} + {figure(element_mm)} = {length(cut.base_mm)}"
    yield f"{figure(side.proud_mm)} \u2212 {figure(cut.off_mm)} = {length(cut.left_mm)}"
