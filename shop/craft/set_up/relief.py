"""Relief, and what the truss rod is turned for it.

Relief is the gap at fret 7 under a straight line over frets 1 and 14, the string pressed down
at both. How far a rod bends a neck differs from neck to neck, so nothing is foretold: it is
turned an eighth, the wood is given its time, and it is measured again.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import floor
from typing import Final

from shop.craft.finding import Finding, note, stop, warn
from shop.craft.formula import COMMON, Symbol, formula
from shop.craft.set_up.figures import FINER, figure, judged, known, length

EIGHTHS: Final = 8  # of a full turn
WAIT_MIN: Final = 5.0  # common practice, no source
TORQUE_NM: Final = 4.0  # common practice, no source
SEEN_MM: Final = 0.02  # less than that between two readings is no change
TWIST_MM: Final = 0.10  # of one side against the other; common practice, no source
STRANGE_MM: Final = 1.5  # no neck under strings has more

CAUTION: Final = (
    "A rod under load can snap or strip: seat the key fully, turn slowly, stop where it binds. "
    "Wear eye protection, the strings are at pitch."
)


@formula(
    "relief-between",
    "Relief from two feelers",
    "r = (p + s) / 2",
    Symbol("r", "", "relief", "mm"),
    Symbol("p", "passes_mm", "the thickest feeler that passes under the string", "mm"),
    Symbol("s", "stops_mm", "the thinnest feeler that lifts it", "mm"),
    source=COMMON,
    given={"passes_mm": 0.20, "stops_mm": 0.25},
    places=3,
)
def relief_between(passes_mm: float, stops_mm: float) -> float:
    """The relief between a feeler that passes and one that does not, in millimetres.

    >>> round(relief_between(0.20, 0.25), 3)
    0.225
    """
    known(passes_mm=passes_mm, stops_mm=stops_mm)
    return (passes_mm + stops_mm) / 2


@dataclass(frozen=True, slots=True)
class Turned:
    """One turn of the rod: eighths of a turn, tighter positive and looser negative, with the
    relief read before and after it; ``None`` where nobody read it before."""

    eighths: int
    before_mm: float | None
    after_mm: float


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do about a relief. ``eighths`` is the next turn: 1 tighter, -1 looser, 0 none.

    ``turned`` is how far the rod stands from where it began, in eighths.
    """

    relief_mm: float
    eighths: int
    turned: int
    reckoning: tuple[str, ...]
    told: tuple[Finding, ...]

    @property
    def within(self) -> bool:
        return not any(one.rule == "relief" for one in self.told)


def advise(
    relief_mm: float,
    low_mm: float,
    high_mm: float,
    so_far: Sequence[Turned] = (),
    *,
    other_side_mm: float | None = None,
    waited_min: float | None = None,
    torque_nm: float | None = None,
) -> Advice:
    """The next turn of the rod for a relief that should be from ``low_mm`` to ``high_mm``.

    A neck bent backwards has a relief below zero. ``so_far`` are the turns already made, first
    to last; ``other_side_mm`` the relief under the other outer string, ``waited_min`` how long
    ago the last turn was, ``torque_nm`` what the key took, each where known.
    """
    known(relief_mm=relief_mm, low_mm=low_mm, high_mm=high_mm)
    if low_mm > high_mm:
        raise ValueError(f"relief from {low_mm!r} to {high_mm!r} is no range")
    mean = judged(relief_mm if other_side_mm is None else (relief_mm + other_side_mm) / 2)
    way = 1 if mean > high_mm else -1 if mean < low_mm else 0
    told: list[Finding] = [*_strange(relief_mm, other_side_mm)]
    strange = blocked = bool(told)
    if not blocked:
        told += _rod(mean, way, so_far, torque_nm)
        blocked = bool(told)
    if not blocked and so_far and waited_min is not None and waited_min < WAIT_MIN:
        told.append(_wait(waited_min))
        blocked = True
    if not blocked and (full := _full_turn(way, so_far)) and full.before_mm is None:
        told.append(_unread(full.eighths))
        blocked = True
    if not blocked:
        told.append(_next(mean, low_mm, high_mm, way))
    if not strange:
        told += _twist(relief_mm, other_side_mm)
    reckoning = tuple(_reckoned(relief_mm, other_side_mm, mean, low_mm, high_mm, so_far))
    turned = sum(one.eighths for one in so_far)
    return Advice(mean, 0 if blocked else way, turned, reckoning, tuple(told))


def turns(eighths: int) -> str:
    """So many eighths as they are said: "1/8 turn", "3/4 turn", "1 turn", "1 3/8 turns".

    >>> turns(1), turns(6), turns(8), turns(-11), turns(0)
    ('1/8 turn', '3/4 turn', '1 turn', '1 3/8 turns', '0 turns')
    """
    whole, rest = divmod(abs(eighths), EIGHTHS)
    part = {0: "", 2: "1/4", 4: "1/2", 6: "3/4"}.get(rest, f"{rest}/8")
    said = " ".join([*([str(whole)] if whole or not rest else []), *([part] if part else [])])
    return f"{said} turn" if 0 < abs(eighths) <= EIGHTHS else f"{said} turns"


def _strange(relief_mm: float, other_mm: float | None) -> Iterator[Finding]:
    for value in (relief_mm, other_mm):
        if value is not None and abs(value) > STRANGE_MM:
            yield stop(
                "relief-read",
                f"{length(value)} is more relief than a neck has.",
                "Press the string down at frets 1 and 14 and measure at fret 7 again.",
                "",
            )
            return


def _rod(
    mean_mm: float, way: int, so_far: Sequence[Turned], torque_nm: float | None
) -> Iterator[Finding]:
    """Where the rod is not to be turned on."""
    if torque_nm is not None and torque_nm > TORQUE_NM:
        yield stop(
            "rod",
            f"The rod took {figure(torque_nm)}\u202fN\u202fm, more than "
            f"{figure(TORQUE_NM)}\u202fN\u202fm.",
            "Turn it no further: it can snap. Back it off 1/8 turn and send the neck to repair.",
        )
    elif (full := _full_turn(way, so_far)) and full.before_mm is not None:
        if judged((full.before_mm - mean_mm) * way) >= SEEN_MM:
            return
        yield stop(
            "rod",
            f"The rod was turned {turns(full.eighths)} and the relief did not follow: it is "
            f"{length(mean_mm)}.",
            "Turn it no further. The lead sends the neck to repair.",
        )


def _full_turn(way: int, so_far: Sequence[Turned]) -> Turned | None:
    """The last turns in the wanted direction as one, as soon as they make a full turn."""
    made = 0
    for one in reversed(so_far):
        if one.eighths * way <= 0:
            break
        made += abs(one.eighths)
        if made >= EIGHTHS:
            return Turned(made * way, one.before_mm, so_far[-1].after_mm)
    return None


def _unread(eighths: int) -> Finding:
    return warn(
        "rod-before",
        f"The rod was turned {turns(eighths)}; whether the relief followed cannot be told.",
        "Enter the relief before the turns first: a rod that no longer moves its neck can snap.",
    )


def _wait(waited_min: float) -> Finding:
    # Of a begun minute nothing has passed yet, and all of it is still to wait.
    passed = floor(judged(waited_min))
    left = figure(WAIT_MIN - passed, 0)
    return note(
        "rod-wait",
        f"{figure(passed, 0)}\u202fmin since the rod was turned: the wood still moves.",
        f"Wait {left}\u202fmin more, tune to pitch and measure again.",
    )


def _next(mean_mm: float, low_mm: float, high_mm: float, way: int) -> Finding:
    span, relief = f"{figure(low_mm)} to {length(high_mm)}", length(mean_mm, FINER)
    if way == 0:
        return note("relief-within", f"Relief {relief}, within {span}.")
    again = f"Then tune to pitch, wait {figure(WAIT_MIN, 0)}\u202fmin and measure again."
    if way > 0:
        by = length(mean_mm - high_mm, FINER)
        words = f"Relief {relief}, {by} above {span}."
        turn = "Tighten the rod 1/8 turn, clockwise as you look at its end."
        return warn("relief", words, f"{turn} {again}")
    by = length(low_mm - mean_mm, FINER)
    below = f"Relief {relief}, {by} below {span}."
    bent = "The neck is bent backwards." if mean_mm < 0 else "The neck is too straight."
    turn = "Loosen the rod 1/8 turn, counter-clockwise as you look at its end."
    return warn("relief", f"{below} {bent}", f"{turn} {again}")


def _twist(relief_mm: float, other_mm: float | None) -> Iterator[Finding]:
    if other_mm is not None and judged(abs(relief_mm - other_mm)) > TWIST_MM:
        yield warn(
            "relief-twist",
            f"Relief {length(relief_mm)} under one outer string and {length(other_mm)} under "
            f"the other, more than {length(TWIST_MM)} apart: the neck is twisted.",
            "The rod cannot take that out. Show it to the lead.",
            "lead",
        )


def _reckoned(
    relief_mm: float,
    other_mm: float | None,
    mean_mm: float,
    low_mm: float,
    high_mm: float,
    so_far: Sequence[Turned],
) -> Iterator[str]:
    if other_mm is not None:
        yield f"({figure(relief_mm)} + {figure(other_mm)}) / 2 = {length(mean_mm, FINER)}"
    if mean_mm > high_mm:
        yield f"{figure(mean_mm, 3)} \u2212 {figure(high_mm)} = {length(mean_mm - high_mm, 3)}"
    elif mean_mm < low_mm:
        yield f"{figure(low_mm)} \u2212 {figure(mean_mm, 3)} = {length(low_mm - mean_mm, 3)}"
    for one in so_far:
        if one.before_mm is None:
            continue
        sign = "+" if one.eighths > 0 else "\u2212"
        yield f"{sign}{abs(one.eighths)}/8: {figure(one.before_mm)} > {length(one.after_mm)}"
