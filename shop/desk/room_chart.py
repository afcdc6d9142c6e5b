"""The last days of the room as a drawing: humidity, temperature, and when glue could be used.

It is worked out here in the units of ``templates/drawing/room.svg``, which draws it and
nothing else; the tables below it say the same. Between two readings a line is level, because
a reading is good until the next.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import groupby
from typing import Final

from shop.craft.clocks import Air
from shop.craft.when import in_utc
from shop.craft.wood.room import AIM_TEMP_C, ALARM_RH_PCT, Stretch

LEFT: Final = 34.0
RIGHT: Final = 352.0
HEIGHT: Final = 96.0  # of a panel
STEP: Final = 5  # its limits are whole fives

_RH_SHOWN: Final = (Decimal(35), Decimal(60))  # at least so much of each is drawn
_TEMP_SHOWN: Final = (Decimal(15), Decimal(25))


@dataclass(frozen=True, slots=True)
class Line:
    """A level at which a panel is ruled: how far down, its figure; a ``limit`` or a scale."""

    y: float
    figure: str
    limit: bool = False


@dataclass(frozen=True, slots=True)
class Panel:
    """One quantity over the days: its line as SVG path data, and the levels it is read by."""

    path: str
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Bar:
    """From where to where something was so."""

    x: float
    width: float


@dataclass(frozen=True, slots=True)
class Tick:
    """A moment on the shop's clock, and where it stands."""

    at: datetime
    x: float


@dataclass(frozen=True, slots=True)
class Chart:
    """All that is drawn. ``form``: how its ticks are written, "hour", "day" or "date"."""

    humidity: Panel
    temperature: Panel
    windows: tuple[Bar, ...]
    ticks: tuple[Tick, ...]
    form: str


def chart(
    log: Sequence[Air], windows: Iterable[Stretch], since: datetime, now: datetime
) -> Chart | None:
    """The room from a moment on until now; ``None`` where nobody has read it."""
    if not log:
        return None
    place = _Place(in_utc(since), in_utc(now))
    bars = [(place.x(one.start), place.x(one.end)) for one in windows]
    ticks, form = _ticks(since, now)
    return Chart(
        humidity=_panel(log, lambda one: one.rh_pct, _RH_SHOWN, ALARM_RH_PCT, place),
        temperature=_panel(log, lambda one: one.temp_c, _TEMP_SHOWN, AIM_TEMP_C, place),
        windows=tuple(
            Bar(round(start, 1), round(end - start, 1)) for start, end in bars if end > start
        ),
        ticks=tuple(Tick(at, round(place.x(in_utc(at)), 1)) for at in ticks),
        form=form,
    )


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a moment stands across the drawing."""

    start: datetime
    end: datetime

    def x(self, moment: datetime) -> float:
        part = (in_utc(moment) - self.start) / (self.end - self.start)
        return LEFT + (RIGHT - LEFT) * min(1.0, max(0.0, part))


def _panel(
    log: Sequence[Air],
    value: Callable[[Air], Decimal],
    shown: tuple[Decimal, Decimal],
    limits: tuple[Decimal, Decimal],
    place: _Place,
) -> Panel:
    values = [value(one) for one in log]
    least = min(*shown, *values) // STEP * STEP
    most = -(-max(*shown, *values) // STEP) * STEP

    def y(level: Decimal) -> float:
        return round(HEIGHT * float((most - level) / (most - least)), 1)

    points = list(_thinned([(place.x(one.at), it) for one, it in zip(log, values, strict=True)]))
    path = [f"M{points[0][0]:.1f} {y(points[0][1])}"]
    path += [f"H{x:.1f}V{y(it)}" for x, it in points[1:]]
    path.append(f"H{RIGHT:.1f}")
    scale = (Line(y(level), f"{level:f}") for level in (least, most))
    ruled = (Line(y(level), f"{level:f}", limit=True) for level in limits)
    return Panel("".join(path), (*scale, *ruled))


def _thinned(points: Sequence[tuple[float, Decimal]]) -> Iterable[tuple[float, Decimal]]:
    """The points, of each column of the drawing no more than first, least, most and last."""
    for _, them in groupby(points, key=lambda one: round(one[0])):
        column = list(them)
        places = {0, len(column) - 1}
        levels = [it for _, it in column]
        places |= {levels.index(min(levels)), levels.index(max(levels))}
        yield from (column[place] for place in sorted(places))


def _ticks(since: datetime, now: datetime) -> tuple[list[datetime], str]:
    """Each sixth hour of a day, each midnight of a week, each seventh of a month."""
    days = (now - since).days
    step, form = (
        (timedelta(hours=6), "hour")
        if days <= 1
        else (timedelta(days=1), "day")
        if days <= 7
        else (timedelta(days=7), "date")
    )
    at = now.replace(hour=0, minute=0, second=0, microsecond=0)
    if form == "hour":
        at = at.replace(hour=now.hour // 6 * 6)
    found = []
    while in_utc(at) > in_utc(since):
        found.append(at)
        at -= step  # on the wall clock: midnight stays midnight when the clocks change
    return found[::-1], form
