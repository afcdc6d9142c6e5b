"""What one instrument moved between the first look and the second: usual, to watch, or stop.

It stops where the second value lies outside what its spec allows. It is watched where it
moved otherwise than instruments usually do, or than the last ones of its spec did: outside
their median by more than three robust standard deviations, taken from the median absolute
deviation; where more than half of them moved the same, outside all but the outermost hundredth.

The median absolute deviation times 1.4826 is a standard deviation where values are normal: P. J.
Huber, Robust Statistics, 1981 (from memory); it is scipy.stats.median_abs_deviation with the
scale "normal". What usually moves, and three deviations: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from statistics import median, quantiles
from typing import Final, Literal

from shop.craft.charts.allowed import Allowed
from shop.craft.charts.drift import MOST, moved
from shop.craft.clocks.holding import CHECK
from shop.craft.finding import Finding, Whom, note, stop, warn
from shop.craft.gauging.setting import ACTION, RELIEF
from shop.craft.set_up import figures, relief, saddle
from shop.craft.set_up.figures import figure, length, signed
from shop.craft.when import span_words
from shop.craft.words import THIN

RULE: Final = "DR2"
TOP: Final = "top"  # the top behind the bridge
TUNING: Final = "tuning"
LEAN: Final = "lean"  # the saddle's

ENOUGH: Final = 8  # moves of a spec before they are held against one more
LAST: Final = 60  # of a spec that count; older ones do not
DEVIATIONS: Final = 3.0
NO_CUT: Final = (
    "Cut nothing off the saddle. The lead sends it to repair to have its neck set again."
)
HOLD_IT: Final = "Hold it for the lead."

Kind = Literal["usual", "watch", "stop"]


@dataclass(frozen=True, slots=True)
class Usual:
    """What usually moves in four days in the case: between ``low`` and ``high``, in ``unit``."""

    words: str
    unit: Literal["mm", "cents"]
    low: float
    high: float
    look: str  # where to look when it moved otherwise

    def told(self, said: str) -> str:
        """A figure with the unit."""
        return f"{said}{THIN}{self.unit}"

    def ends(self, low: float, high: float) -> tuple[str, str]:
        """Two moves as they are told one after the other."""
        return signed(low), self.told(signed(high))


USUAL: Final[dict[str, Usual]] = {
    ACTION: Usual(
        "String height over fret 12", "mm", 0.05, 0.25, "Look at the relief and the bridge's edge."
    ),
    RELIEF: Usual("Relief", "mm", 0.03, 0.10, "Look at the rod and the room's log."),
    TOP: Usual(
        "Top behind the bridge", "mm", 0.2, 0.6, "Look at the bridge's rear edge and the braces."
    ),
    TUNING: Usual(
        "Tuning", "cents", -30.0, -5.0, "Look at the machines and the string's windings."
    ),
    LEAN: Usual("Lean of the saddle", "mm", 0.0, 0.05, "Look at the saddle in its slot."),
}
"""By what is measured; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Band:
    """Between which moves the last ones of a spec lie, ``count`` of them."""

    low: float
    high: float
    count: int
    robust: bool  # by the median and its deviations; else all but the outermost hundredth


@dataclass(frozen=True, slots=True)
class Offer:
    """What takes it back at the touch-up: off the saddle, or by the rod where ``off_mm`` is
    ``None``. ``check`` is how long it is held after, ``caution`` what can hurt."""

    words: str
    off_mm: float | None
    check: timedelta
    caution: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """How a move is judged. ``moved`` and ``band`` are in the quantity's unit; ``band`` is
    ``None`` where too few of the spec are known."""

    kind: Kind
    finding: Finding
    moved: float
    band: Band | None
    offer: Offer | None = None


def judged(
    quantity: str,
    first: float,
    second: float,
    *,
    aim: float | None = None,
    limits: Allowed | None = None,
    last: Sequence[float] = (),
    proud_mm: float | None = None,
    side: Literal["bass", "treble", ""] = "",
) -> Verdict:
    """How one instrument's move from ``first`` to ``second`` is judged.

    ``quantity`` is a key of ``USUAL``. ``aim`` is what its spec wants and ``limits`` between
    which values; without limits the usual tolerance about the aim, where there is one.
    ``last`` are the moves of the spec's last instruments, oldest first. ``proud_mm`` is the
    saddle's height above the bridge where known, ``side`` the strings' where it has one.
    Raises ``ValueError`` for a quantity that is not judged, or no number.

    >>> judged("action", 2.40, 2.65, aim=2.40).kind
    'stop'
    """
    if quantity not in USUAL:
        raise ValueError(f"quantity is {quantity!r}: give one of {', '.join(USUAL)}")
    figures.known(first=first, second=second, **({} if aim is None else {"aim": aim}))
    usual, move, close = USUAL[quantity], moved(first, second), band(last)
    lies = _moved(usual, side, first, second)
    allowed = limits or _about(quantity, aim)
    if allowed and not _inside(second, allowed.lower, allowed.upper):
        beyond = _beyond(usual, second, aim, allowed)
        then, call, offer = _settled(quantity, second, aim, allowed, proud_mm)
        return Verdict("stop", stop(RULE, f"{lies} {beyond}", then, call), move, close, offer)
    strange = ""
    if not _inside(move, usual.low, usual.high):
        low, high = usual.ends(usual.low, usual.high)
        strange = f"Usual is {low} to {high}."
    elif close and not _inside(move, close.low, close.high):
        strange = _of_the_last(usual, close)
    if strange:
        again = "Measure again as at the first look."
        return Verdict(
            "watch", warn(RULE, f"{lies} {strange}", f"{again} {usual.look}"), move, close
        )
    as_ever = "That is usual."
    return Verdict("usual", note(RULE, f"{lies} {as_ever}"), move, close)


def band(last: Sequence[float]) -> Band | None:
    """Between which moves the last ones of a spec lie; ``None`` for fewer than eight.

    >>> band([0.08, 0.10, 0.12, 0.10, 0.09, 0.11, 0.10, 0.30]).robust
    True
    """
    counted = list(last[-LAST:])
    if len(counted) < ENOUGH:
        return None
    figures.known(**{f"last[{at}]": one for at, one in enumerate(counted)})
    # Slow to import, and only wanted where it is asked for.
    from scipy.stats import median_abs_deviation

    centre, deviation = median(counted), float(median_abs_deviation(counted, scale="normal"))
    if deviation > 0:
        off = DEVIATIONS * deviation
        return Band(
            figures.judged(centre - off), figures.judged(centre + off), len(counted), robust=True
        )
    halves = quantiles(counted, n=200, method="inclusive")
    return Band(figures.judged(halves[0]), figures.judged(halves[-1]), len(counted), robust=False)


def _inside(value: float, low: float, high: float) -> bool:
    """Whether it lies between the two, each of them still inside."""
    return figures.judged(low) <= figures.judged(value) <= figures.judged(high)


def _about(quantity: str, aim: float | None) -> Allowed | None:
    if aim is None or quantity not in MOST:
        return None
    most = float(MOST[quantity])
    return Allowed(round(aim - most, 3), round(aim + most, 3))


def _named(usual: Usual, side: str) -> str:
    if side == "bass":
        return f"{usual.words}, bass side"
    return f"{usual.words}, treble side" if side else usual.words


def _moved(usual: Usual, side: str, first: float, second: float) -> str:
    named, move = _named(usual, side), usual.told(signed(moved(first, second)))
    return f"{named} moved {move} between the looks, {figure(first)} to {figure(second)}."


def _beyond(usual: Usual, second: float, aim: float | None, allowed: Allowed) -> str:
    """By how much the second value lies outside, and of what."""
    if aim is not None and _even(aim, allowed):
        off, most = signed(second - aim), figure(allowed.upper - aim)
        aimed = usual.told(figure(aim))
        return f"{off} off the {aimed} aimed at, beyond ±{most}."
    least, wanted = figure(allowed.lower), usual.told(figure(allowed.upper))
    return f"{least} to {wanted} is allowed."


def _even(aim: float, allowed: Allowed) -> bool:
    """Whether the aim lies in the middle of what is allowed."""
    return figures.judged(aim - allowed.lower) == figures.judged(allowed.upper - aim)


def _of_the_last(usual: Usual, close: Band) -> str:
    count, (low, high) = close.count, usual.ends(close.low, close.high)
    if close.robust:
        return f"The last {count} of this spec moved {low} to {high}, by median ± 3 deviations."
    return f"The last {count} of this spec moved {low} to {high}, 99{THIN}% of them."


def _settled(
    quantity: str, second: float, aim: float | None, allowed: Allowed, proud_mm: float | None
) -> tuple[str, Whom, Offer | None]:
    """The next step, whom to call, and what takes it back at the touch-up if anything does."""
    wanted = (allowed.lower + allowed.upper) / 2 if aim is None else aim
    back = figures.judged(second - wanted)
    check = span_words(CHECK)
    held = f"Then {check} in the case before the next look."
    if quantity == ACTION and back > 0:
        # Half way along the string: how long the scale is does not count.
        off = figures.judged(saddle.saddle_change(back, scale_mm=1.0))
        if proud_mm is not None and figures.judged(proud_mm - off) < saddle.Limits().least_mm:
            return NO_CUT, "lead", None
        words = (
            f"At the touch-up, {length(off)} off the base of the saddle takes back {length(back)} "
            "at fret 12."
        )
        pitch = "Strings slack for over 30 min begin the days in the case again."
        return f"{words} {pitch} {held}", "", Offer(words, off, CHECK, saddle.CAUTION)
    if quantity == ACTION:
        return "Make a new saddle. Nothing is put under this one.", "", None
    if quantity == RELIEF:
        words = (
            "At the touch-up, tighten the rod by a quarter turn at most, then measure again."
            if back > 0
            else "At the touch-up, loosen the rod by a quarter turn at most, then measure again."
        )
        return f"{words} {held}", "", Offer(words, None, CHECK, relief.CAUTION)
    return f"{HOLD_IT} {USUAL[quantity].look}", "lead", None
