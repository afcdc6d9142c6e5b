"""Several phones doing one thing at the same moment, each in a thread of its own.

``python -m tests.floor.race CASES START THREADS`` does each case in every thread as the
moment for it comes (cases are half a second apart) and prints the outcomes as JSON.
``python -m tests.floor.race look`` prints what is then so.
"""

from __future__ import annotations

import json
import os
import sys
import threading
import time
import uuid
from collections.abc import Callable
from typing import Any

APART_S = 0.5


def deed_of(name: str) -> Any:
    from shop.floor import board, door

    def number(serial: str) -> int:
        found = board.by_serial(serial)
        assert found is not None
        return found.id

    def tray(serial: str) -> int:
        found = board.by_serial(serial)
        assert found is not None
        return found.tray_id

    today = board.all_open()[0].release_on
    deeds: dict[str, Callable[[], Any]] = {
        "step": lambda: door.StepDone(number("Q-1043"), "B30"),
        "same step": lambda: door.StepDone(number("Q-1055"), "B10"),
        "release": lambda: door.Released(
            "Q-1067", "K-2103", "FELL", due_on=today, release_on=today
        ),
        "arrival": lambda: door.PartArrived("body", "X-1", "TARN"),
        "same arrival": lambda: door.PartArrived("body", "X-2", "TARN"),
        "tray": lambda: door.TrayClosed(tray("Q-1062")),
    }
    return deeds[name]()


# Where each is done, and by whom.
PLACES = {
    "step": ("P-14", "B"),
    "same step": ("P-14", "B"),
    "release": ("P-01", ""),
    "arrival": ("P-01", ""),
    "same arrival": ("P-01", ""),
    "tray": ("P-41", "K"),
}


def race(cases: list[str], start: float, threads: int) -> list[tuple[str, str, list[str]]]:
    from django.db import connection
    from django.utils import timezone

    from shop.floor import door
    from shop.people.models import Badge

    told: list[tuple[str, str, list[str]]] = []
    ready = {name: (deed_of(name), Badge.objects.get(code=PLACES[name][0])) for name in cases}

    def run() -> None:
        for place, name in enumerate(cases):
            deed, badge = ready[name]
            # One key for all where the same act is sent twice, else one for each phone.
            act = door.Act(
                key=uuid.uuid5(uuid.NAMESPACE_OID, name) if "same" in name else uuid.uuid4(),
                by_id=badge.pk,
                by=badge.code,
                at=timezone.now(),
                station=PLACES[name][1],
                reason="Race",
            )
            time.sleep(max(0.0, start + place * APART_S - time.time()))
            try:
                outcome = door.record(act, deed)
                told.append((name, outcome.result, [one.rule for one in outcome.findings]))
            except Exception as trouble:  # noqa: BLE001 told to the test that started this
                told.append((name, repr(trouble), []))
        connection.close()

    runners = [threading.Thread(target=run) for _ in range(threads)]
    for runner in runners:
        runner.start()
    for runner in runners:
        runner.join()
    return told


def prepare() -> None:
    """The tray to be closed is picked, and what the step asks for is measured."""
    from tests.floor.morning import pick, ready_for

    pick("Q-1062")
    ready_for("Q-1043", "B30", "P-14", "B")


def look() -> dict[str, Any]:
    from shop.floor.models import Body, Entry, Instrument, Step
    from shop.stock import shelf
    from shop.stock.models import Lot, Movement

    def sequence(serial: str) -> list[int | None]:
        rows = Entry.objects.filter(instrument__body__serial=serial).order_by("seq")
        return list(rows.values_list("seq", flat=True))

    return {
        "steps": Step.objects.filter(
            instrument__body__serial="Q-1043", operation__code="B30"
        ).count(),
        "same steps": Step.objects.filter(
            instrument__body__serial="Q-1055", operation__code="B10"
        ).count(),
        "rows of one key": Entry.objects.filter(
            key=uuid.uuid5(uuid.NAMESPACE_OID, "same step")
        ).count(),
        "released": Instrument.objects.filter(body__serial="Q-1067").count(),
        "arrived": [Body.objects.filter(serial=one).count() for one in ("X-1", "X-2")],
        "deducted": -sum(
            Movement.objects.filter(
                tray__serial="Q-1062", lot__item__key="T01", kind="deducted"
            ).values_list("on_hand", flat=True)
        ),
        "T01": Lot.objects.get(item__key="T01").on_hand,
        "unbalanced": shelf.unbalanced(),
        "sequences": {one: sequence(one) for one in ("Q-1043", "Q-1055", "Q-1062", "Q-1067")},
    }


def main() -> None:
    import django

    os.environ["DJANGO_SETTINGS_MODULE"] = "shop.settings"
    django.setup()
    what = sys.argv[1]
    if what == "prepare":
        prepare()
        return
    if what == "look":
        print(json.dumps(look()))  # noqa: T201 to the test that started this
        return
    told = race(json.loads(what), float(sys.argv[2]), int(sys.argv[3]))
    print(json.dumps(told))  # noqa: T201 to the test that started this


if __name__ == "__main__":
    main()
