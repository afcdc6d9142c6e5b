"""Who is signed off for which station, by whom, and until when.

A sign-off counts for twelve months: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction

from shop.people.models import Badge, Training
from shop.people.roles import holds


class NotSignedOff(ValueError):
    """A sign-off that cannot be; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class SignedOff:
    """One badge at one station: the last day it counts there, and who signed."""

    station: str
    code: str
    until: date
    by: str


def year_after(day: date) -> date:
    """The same day of the next year; 28 February after the 29th.

    >>> year_after(date(2032, 2, 29))
    datetime.date(2033, 2, 28)
    """
    if (day.month, day.day) == (2, 29):
        day = day.replace(day=28)
    return day.replace(year=day.year + 1)


def learns(badge: Badge) -> bool:
    """Whether the badge records only with a trainer beside it."""
    return holds(badge, "step.learn") and not holds(badge, "step.record")


def in_force(rows: Iterable[Training]) -> dict[str, Training]:
    """The row that counts at each station, from one badge's rows, the oldest first: the one
    that reaches furthest, unless a later one ended it."""
    found: dict[str, Training] = {}
    for row in rows:
        last = found.get(row.station)
        if last is None or row.ends or row.until >= last.until:
            found[row.station] = row
    return found


def train(badge: Badge, station: str, by: Badge, on: date, until: date | None = None) -> date:
    """Sign a badge off for a station; the last day that it counts there now.

    Without ``until`` it counts for twelve months. The same sign-off twice is one. Raises
    ``NotSignedOff`` where the trainer may not sign: the badge itself, somebody who learns, or
    somebody who was not signed off there that day. A lead may sign for any station.
    """
    until = until or year_after(on)
    if badge.pk == by.pk:
        raise NotSignedOff(f"{by.code} is the one to sign off. Choose somebody else as trainer.")
    if learns(by):
        raise NotSignedOff(
            f"{by.code} still learns. Choose a trainer who records alone, or a lead."
        )
    if until < on:
        raise NotSignedOff(f"The last day {until} is before {on}. Give a later last day.")
    with transaction.atomic():
        rows = _held(badge)
        if not (holds(by, "badge.train") or _was_signed_off(by, station, on)):
            raise NotSignedOff(
                f"{by.code} was not signed off for station {station} on {on}. "
                "Choose a trainer who was, or a lead."
            )
        last = in_force(rows).get(station)
        if last is None or (last.signed_by_id, last.on, last.until) != (by.pk, on, until):
            rows.append(_add(badge, station, by, on, until))
        return _keep(badge, rows)[station].until


def end_training(badge: Badge, station: str, by: Badge, on: date) -> None:
    """End a sign-off: its last day is the one before.

    Raises ``NotSignedOff`` where there is none that still counts.
    """
    with transaction.atomic():
        rows = _held(badge)
        last = in_force(rows).get(station)
        if last is None or last.until < on:
            raise NotSignedOff(f"{badge.code} is not signed off for station {station} on {on}.")
        rows.append(_add(badge, station, by, on, on - timedelta(days=1)))
        _keep(badge, rows)


def _held(badge: Badge) -> list[Training]:
    """The badge's rows, the oldest first; the badge is held until the transaction ends."""
    Badge.objects.select_for_update().get(pk=badge.pk)
    return list(Training.objects.filter(badge=badge))


def _was_signed_off(badge: Badge, station: str, on: date) -> bool:
    rows = Training.objects.filter(badge=badge, station=station, on__lte=on)
    return any(row.until >= on for row in in_force(rows).values())


def _add(badge: Badge, station: str, by: Badge, on: date, until: date) -> Training:
    return Training.objects.create(badge=badge, station=station, signed_by=by, on=on, until=until)


def _keep(badge: Badge, rows: list[Training]) -> dict[str, Training]:
    """Write on the badge what its rows come to."""
    counts = in_force(rows)
    badge.trained = {station: row.until.isoformat() for station, row in counts.items()}
    badge.save(update_fields=["trained"])
    return counts


def signed_off() -> list[SignedOff]:
    """Every active badge at each station it was ever signed off for, by station and badge."""
    rows: dict[str, list[Training]] = {}
    found = Training.objects.filter(badge__is_active=True).select_related("badge", "signed_by")
    for row in found:
        rows.setdefault(row.badge.code, []).append(row)
    counts = [one for own in rows.values() for one in in_force(own).values()]
    return sorted(
        (SignedOff(one.station, one.badge.code, one.until, one.signed_by.code) for one in counts),
        key=lambda one: (one.station, one.code),
    )
