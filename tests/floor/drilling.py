"""Instruments brought to where their machines are drilled, whatever the demo asks on the way."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime, timedelta
from typing import Any

import pytest

from shop.catalogue import revising
from shop.catalogue.models import Operation
from shop.craft.head import posts
from shop.floor import door
from shop.floor.photos import Picture
from tests.floor.morning import NOW, act, check_tray, now, step

DRILLS = "N60"
BEFORE = ("N10", "N20", "N30", "N40", "N50")
# A graduated set: each machine belongs on the post of one string. Left-handed, so string 6
# is on the right seen from the FRONT.
MARKED = "Q-1055"
# A plain set: any left machine is as good on any left post.
PLAIN = "Q-1043"
# Where whatever had to dry is dry.
READY = NOW + timedelta(hours=12)


@pytest.fixture(scope="module")
def before_the_drill(morning: None, django_db_blocker: Any) -> None:
    """Once a module, and undone with the morning it belongs to."""
    with django_db_blocker.unblock():
        look_first()
        bring(MARKED)
        bring(PLAIN)


def look_first(*quantities: str) -> None:
    """Machines are looked at before N60, and these quantities alone are measured there."""
    drilled = Operation.objects.get(code=DRILLS)
    drilled.positions = drilled.irreversible = True
    drilled.finish_age = ""
    drilled.save()
    drilled.gaugings.all().delete()
    for place, quantity in enumerate(quantities):
        drilled.gaugings.create(quantity=quantity, place=place)
    revising.operation_changed(drilled.pk)


def bring(serial: str, at: datetime = READY) -> None:
    """Every operation before N60 is done on the instrument an hour before, its tray scanned."""
    earlier = at - timedelta(hours=1)
    check_tray(serial, at=earlier)
    with _nothing_else_asked():
        for code in BEFORE:
            if code not in now(serial).done_codes:
                outcome = step(serial, code, at=earlier)
                assert outcome.done, outcome.findings


@contextmanager
def _nothing_else_asked() -> Iterator[None]:
    """What the operations before N60 measure, and how old a finish they want, left aside."""
    asked = [
        (one, one.finish_age, list(one.gaugings.values_list("quantity", "place")))
        for one in Operation.objects.filter(code__in=BEFORE)
    ]
    for one, _, _ in asked:
        one.gaugings.all().delete()
        one.finish_age = ""
        one.save()
        revising.operation_changed(one.pk)
    yield
    for one, finish_age, gaugings in asked:
        for quantity, place in gaugings:
            one.gaugings.create(quantity=quantity, place=place)
        one.finish_age = finish_age
        one.save()
        revising.operation_changed(one.pk)


def right_marks(serial: str) -> dict[str, str]:
    return {post.key: post.mark for post in posts(now(serial).sheet.spec)}


def look(
    serial: str,
    marks: Mapping[str, str] | None = None,
    picture: Picture | None = None,
    reason: str = "The camera is broken",
    by: door.Act | None = None,
) -> door.Outcome:
    """Look at the machines of an instrument; without ``marks`` each is on its post."""
    read = right_marks(serial) if marks is None else marks
    doer = by or act(at=READY, reason=reason)
    return door.record(doer, door.Placed(now(serial).id, DRILLS, read, picture))
