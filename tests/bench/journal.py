"""How long it takes to go over a long journal, and to make a floor again from one.

    python -m tests.bench.journal
    python -m tests.bench.journal --rows 1000000 --rebuild 20000
    DATABASE_URL=postgresql://... python -m tests.bench.journal   # an empty database

Fills a database with chained rows: those of the demo's furthest instrument, written again for
each of thousands. Prints times and the most memory each command held, and asserts nothing.
"""

# ruff: noqa: T201 - it speaks to a terminal

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
import uuid
from collections.abc import Iterator
from itertools import cycle
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from shop.floor.models import Entry

ROOT: Final = Path(__file__).resolve().parents[2]
ROWS_EACH: Final = 200  # rows of one instrument: scanned and measured over and over
AT_ONCE: Final = 25  # instruments whose rows are written side by side
AGAIN: Final = {"tray", "readings", "positions"}  # what may come any number of times


def main() -> None:
    asked = argparse.ArgumentParser()
    asked.add_argument("--rows", type=int, default=1_000_000)
    asked.add_argument("--rebuild", type=int, default=20_000, help="rows the floor is made of")
    wanted = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        os.environ["HEELCAP_DATA"] = folder
        os.environ["DJANGO_SETTINGS_MODULE"] = "shop.settings"
        import django

        django.setup()
        from django.core.management import call_command
        from django.utils import timezone

        from shop.floor.demo import loading

        call_command("migrate", verbosity=0)
        loading.load(timezone.now())
        filling = Filling()
        filling.up_to(wanted.rebuild)
        measure(filling.rows, "rebuild_floor")
        measure(filling.rows, "rebuild_floor", "--check")
        filling.up_to(wanted.rows)
        measure(filling.rows, "verify_journal")


class Filling:
    """A database that gets longer and longer."""

    def __init__(self) -> None:
        from shop.floor.models import Entry, Instrument, Loose

        rows = Entry.objects.select_related("instrument__body", "instrument__neck")
        self.model = Instrument.objects.select_related("body", "neck").order_by("-seq")[0]
        serials = [self.model.body.serial, str(self.model.neck)]
        self.came = list(rows.filter(kind="arrival", subject__in=serials).order_by("pk"))
        self.story = list(rows.filter(instrument=self.model).order_by("seq"))
        self.loose = Loose.objects.get()
        self.rows = Entry.objects.count()
        self.instruments = 0

    def up_to(self, rows: int) -> None:
        """Go on until the journal has so many rows, or a few more."""
        from django.db import transaction

        start, before = time.perf_counter(), self.rows
        while self.rows < rows:
            with transaction.atomic():
                self._more()
        print(
            f"{self.rows - before} rows written in {time.perf_counter() - start:.0f} s: "
            f"{self.rows} rows of {self.instruments} instruments and the demo's"
        )

    def _more(self) -> None:
        """A few instruments more, their rows as they would be written side by side."""
        from shop.floor.models import Body, Entry, Instrument, Neck
        from shop.stock.models import Tray

        model = self.model
        numbers = range(self.instruments, self.instruments + AT_ONCE)
        self.instruments += AT_ONCE
        spec = model.body.spec_id
        at = model.body.arrived_at
        bodies = Body.objects.bulk_create(
            Body(serial=f"Z-{n}", spec_id=spec, arrived_at=at) for n in numbers
        )
        necks = Neck.objects.bulk_create(
            Neck(serial=f"Y-{n}", spec_id=spec, arrived_at=at) for n in numbers
        )
        trays = Tray.objects.bulk_create(
            Tray(
                code=f"T{n:06d}",
                serial=f"Z-{n}",
                revision_id=model.revision_id,
                wanted_on=model.due_on,
            )
            for n in numbers
        )
        made = Instrument.objects.bulk_create(
            Instrument(
                body=body,
                neck=neck,
                revision_id=model.revision_id,
                due_on=model.due_on,
                release_on=model.release_on,
                tray=tray,
            )
            for body, neck, tray in zip(bodies, necks, trays, strict=True)
        )
        written: list[Entry] = []
        for one, number in zip(made, numbers, strict=True):
            for row in self.came:
                part = row.data["part"]
                serial = one.body.serial if part == "body" else str(one.neck)
                tag = f"{part[0].upper()}{number:06d}"
                more = {"serial": serial, "tag": tag}
                written.append(self._row(row, serial, self.loose, None, more))
        stories = [self._story() for _ in made]
        for _ in range(ROWS_EACH):
            for one, story in zip(made, stories, strict=True):
                own = {
                    "instrument_id": one.pk,
                    "body": one.body.serial,
                    "neck": str(one.neck),
                    "tray_id": one.tray_id,
                }
                row = next(story)
                if row.data.get("pairs"):
                    own["pairs"] = str(one.neck)
                written.append(self._row(row, one.body.serial, one, one.pk, own))
        Entry.objects.bulk_create(written, batch_size=1000)
        Instrument.objects.bulk_update(made, ["seq", "link"])
        self.loose.save()
        self.rows += len(written)

    def _story(self) -> Iterator[Entry]:
        """The rows of the model, and then those that may come again, for ever."""
        yield from self.story
        yield from cycle([row for row in self.story if row.kind in AGAIN])

    @staticmethod
    def _row(
        row: Entry, serial: str, end: Any, instrument_id: int | None, own: dict[str, Any]
    ) -> Entry:
        """The same row for another, at the end of its chain."""
        from shop.floor import chain
        from shop.floor.models import Entry

        said = {one.attname: getattr(row, one.attname) for one in Entry._meta.concrete_fields}
        del said["id"]
        again = Entry(
            **said
            | {
                "key": uuid.uuid4(),
                "subject": serial,
                "instrument_id": instrument_id,
                "seq": end.seq + 1,
                "data": {name: own.get(name, one) for name, one in row.data.items()},
            }
        )
        again.link = chain.link_of(again, end.link)
        end.seq, end.link = again.seq, again.link
        return again


def measure(rows: int, *command: str) -> None:
    """Run a command of the shop in a process of its own and print what it took."""
    start = time.perf_counter()
    process = subprocess.Popen([sys.executable, "manage.py", *command], cwd=ROOT)
    _, status, used = os.wait4(process.pid, 0)
    took = time.perf_counter() - start
    cpu = used.ru_utime + used.ru_stime
    print(
        f"  {' '.join(command)}: {took:.1f} s, {cpu:.1f} s of the processor, "
        f"{rows / took:.0f} rows/s, at most {used.ru_maxrss / 1024:.0f} MB"
        f"{'' if status == 0 else ', NOT as it should be'}",
        flush=True,
    )


if __name__ == "__main__":
    main()
