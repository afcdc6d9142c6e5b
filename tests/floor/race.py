"""Several phones doing one thing at the same moment, each in a thread of its own.

``python -m tests.floor.race CASES START THREADS FIRST`` does each case in every thread as the
moment for it comes (cases are half a second apart) and prints the outcomes as JSON. Phones
are numbered over all processes; ``FIRST`` is the number of the first one here.
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
from dataclasses import asdict, dataclass
from typing import Any

APART_S = 0.5


def deed_of(name: str, phone: int) -> Any:
    from shop.floor import board, door
    from shop.floor.models import Tag
    from tests.floor import printed

    def number(serial: str) -> int:
        found = board.by_serial(serial)
        assert found is not None
        return found.id

    def tray(serial: str) -> int:
        found = board.by_serial(serial)
        assert found is not None
        return found.tray_id

    def neck_of(serial: str) -> str:
        found = board.by_serial(serial)
        assert found is not None
        return Tag.objects.filter(neck__serial=found.neck).latest("pk").code

    one, other = SWAPPED if phone % 2 else reversed(SWAPPED)
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
        "badges": lambda: door.StepDone(number("Q-1058"), "B20"),
        "start": lambda: door.StepStarted(number("Q-1050"), "J20"),
        "necks": lambda: door.NeckSeen(number(one), neck_of(other)),
        "tag": lambda: printed.coming("Q-1058", "body_tag"),
        "tag again": lambda: printed.coming("Q-1055", "body_tag"),
        "paper": lambda: printed.coming("Q-1062", "traveller"),
    }
    return deeds[name]()


# Where each is done, and by whom: by one badge, or on each phone by another.
PLACES: dict[str, tuple[list[str], str]] = {
    "step": (["P-14"], "B"),
    "same step": (["P-14"], "B"),
    "release": (["P-01"], ""),
    "arrival": (["P-01"], ""),
    "same arrival": (["P-01"], ""),
    "tray": (["P-41"], "K"),
    "badges": (["P-14", "P-11", "P-12", "P-22"], "B"),
    "start": (["P-16", "P-14", "P-18", "P-12"], "J"),
    "necks": (["P-12", "P-31"], "I"),
    "tag": (["P-01"], ""),
    "tag again": (["P-01"], ""),
    "paper": (["P-01"], ""),
}
SWAPPED = ("Q-1037", "Q-1049")  # both are of a pair
TIMES = {"necks": 5}  # in a row, so that they meet in the middle of it


@dataclass(frozen=True)
class Told:
    """What one phone was told."""

    case: str
    by: str
    result: str
    rules: list[str]
    words: str


def race(cases: list[str], start: float, threads: int, first: int) -> list[Told]:
    from django.db import connection
    from django.utils import timezone

    from shop.floor import door
    from shop.people.models import Badge

    told: list[Told] = []

    def ready(name: str, phone: int) -> tuple[Any, Any]:
        codes = PLACES[name][0]
        return deed_of(name, phone), Badge.objects.get(code=codes[phone % len(codes)])

    def run(mine: list[tuple[str, Any, Any]]) -> None:
        for place, (name, deed, badge) in enumerate(mine):
            time.sleep(max(0.0, start + place * APART_S - time.time()))
            told.extend(send(name, deed, badge) for _ in range(TIMES.get(name, 1)))
        connection.close()

    def send(name: str, deed: Any, badge: Any) -> Told:
        # One key for all where the same act is sent twice, else one for each phone.
        act = door.Act(
            key=uuid.uuid5(uuid.NAMESPACE_OID, name) if "same" in name else uuid.uuid4(),
            by_id=badge.pk,
            by=badge.code,
            at=timezone.now(),
            station=PLACES[name][1],
            reason="Race",
        )
        try:
            outcome = door.record(act, deed)
        except Exception as trouble:  # noqa: BLE001 told to the test that started this
            return Told(name, badge.code, repr(trouble), [], "")
        rules = [one.rule for one in outcome.findings]
        words = " ".join(one.words for one in outcome.findings)
        return Told(name, badge.code, outcome.result, rules, words)

    phones = [
        [(name, *ready(name, phone)) for name in cases] for phone in range(first, first + threads)
    ]
    runners = [threading.Thread(target=run, args=(mine,)) for mine in phones]
    for runner in runners:
        runner.start()
    for runner in runners:
        runner.join()
    return told


def prepare() -> None:
    """The tray to be closed is picked, what the step asks for is measured, and the tag that is
    to be printed again was printed."""
    from tests.floor.morning import pick, ready_for
    from tests.floor.printed import printed

    assert printed("Q-1055", "body_tag").done
    pick("Q-1062")
    ready_for("Q-1043", "B30", "P-14", "B")


RACED = ("Q-1043", "Q-1055", "Q-1062", "Q-1067", "Q-1058", "Q-1050", *SWAPPED)


def look() -> dict[str, Any]:
    from shop.floor.models import Body, Entry, Instrument, Print, Step, Tag
    from shop.stock import shelf
    from shop.stock.models import Lot, Movement

    def sequence(serial: str) -> list[int | None]:
        rows = Entry.objects.filter(instrument__body__serial=serial).order_by("seq")
        return list(rows.values_list("seq", flat=True))

    def tags(serial: str) -> list[tuple[str, bool, str]]:
        """The tags a body has had: printed, in use or why not."""
        rows = Tag.objects.filter(body__serial=serial).order_by("id")
        found = rows.values_list("printed_at", "void_at", "void_why")
        return [("printed" if at else "", void_at is None, why) for at, void_at, why in found]

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
        "badges": list(
            Step.objects.filter(
                instrument__body__serial="Q-1058", operation__code="B20"
            ).values_list("by__code", flat=True)
        ),
        "open": Instrument.objects.get(body__serial="Q-1050").open_step.get("by"),
        "frozen": [bool(Instrument.objects.get(body__serial=one).frozen) for one in SWAPPED],
        "tags": [tags("Q-1058"), tags("Q-1055")],
        "copies": [
            list(Print.objects.filter(instrument__body__serial=one).values_list("copy", flat=True))
            for one in ("Q-1058", "Q-1055", "Q-1062")
        ],
        "unbalanced": shelf.unbalanced(),
        "sequences": {one: sequence(one) for one in RACED},
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
    told = race(json.loads(what), float(sys.argv[2]), *map(int, sys.argv[3:5]))
    print(json.dumps([asdict(one) for one in told]))  # noqa: T201 to the test that started this


if __name__ == "__main__":
    main()
