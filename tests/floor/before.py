"""A floor as an older release kept it, brought to this one: told as JSON to the test.

``python -m tests.floor.before`` wants an empty database of its own. It loads the demo, lets a
busy hour pass, takes away what rows did not say then, goes back to the older tables, and comes
forward again.
"""

from __future__ import annotations

import io
import json
import os
import sys
from typing import Any
from unittest import mock

# What a row said of itself before the journal was a chain.
SAID = {
    "answer": ["call_id"],
    "arrival": ["part", "serial", "spec"],
    "call": ["instrument_id", "whom", "words"],
    "permit": ["instrument_id", "wood", "number"],
    "positions": ["instrument_id", "operation", "marks", "photo"],
    "readings": ["instrument_id", "operation", "entered", "sure", "inch"],
    "release": [
        *("body", "neck", "spec", "due_on", "release_on", "order", "urgent", "agreed"),
        "destination",
    ],
    "room": ["temp_c", "rh_pct"],
    "step": ["instrument_id", "operation", "neck_code"],
    "tag": ["code"],
    "tray": ["instrument_id", "tray_code"],
    "tray close": ["tray_id"],
}
OLDER = "0002"


def main() -> None:
    import django

    os.environ["DJANGO_SETTINGS_MODULE"] = "shop.settings"
    django.setup()
    from django.core.management import call_command
    from django.utils import timezone

    from shop.floor import following
    from shop.floor.demo import gauges, loading, racking
    from shop.floor.models import Entry
    from tests.floor import busy

    call_command("migrate", verbosity=0)
    with (  # there were none then
        mock.patch.object(gauges, "GAUGES", ()),
        mock.patch.object(racking, "SLOTS", 0),
        mock.patch.object(racking, "LIES_IN", {}),
    ):
        loading.load(timezone.now())
    kinds = {one.pk: one.kind for one in Entry.objects.all()}
    busy.hour(timezone.localtime() + loading.STEP)
    before = following.picture()
    as_it_was_said()
    call_command("migrate", "floor", OLDER, verbosity=0)
    as_it_was_kept()
    call_command("migrate", verbosity=0)
    told = {
        "kinds": sorted({*kinds.values(), *Entry.objects.values_list("kind", flat=True)}),
        "before": before,
        "after": following.picture(),
        "verified": said_by("verify_journal"),
        "rebuilt": said_by("rebuild_floor", "--check"),
    }
    json.dump(told, sys.stdout)


def as_it_was_said() -> None:
    """Each row says of itself what such a row said then."""
    from django.db import connection

    from shop.floor import guard
    from shop.floor.models import Entry

    guard.take_down()
    with connection.cursor() as cursor:
        for row in Entry.objects.all():
            said = json.dumps({name: row.data[name] for name in SAID[row.kind]})
            cursor.execute("UPDATE floor_entry SET data = %s WHERE id = %s", [said, row.pk])


def as_it_was_kept() -> None:
    """The tag of a neck stayed in use when the neck was paired."""
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE floor_tag SET void_at = NULL WHERE neck_id IN (SELECT neck_id FROM floor_pair)"
        )


def said_by(*command: str) -> list[Any]:
    """What a command of the shop printed, and why it failed, if it did."""
    from django.core.management import CommandError, call_command

    out = io.StringIO()
    try:
        call_command(*command, stdout=out)
    except CommandError as why:
        return [out.getvalue(), str(why)]
    return [out.getvalue(), ""]


if __name__ == "__main__":
    main()
