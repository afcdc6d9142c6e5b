"""The rows kept so far get what a row has now, and are chained in the order they were written.

It is the last time that a row is touched: from here on the database refuses it. A row also gets
what its deed goes by when the floor is made again from it, as far as the tables still know:
what stood against an instrument, and which tray it was checked with, is known of the last look.
"""

from __future__ import annotations

import hashlib
import json
from datetime import UTC
from decimal import Decimal
from typing import Any, ClassVar

from django.db import migrations
from django.db.models import Max

PAGE = 500  # rows
RECORDED = "recorded"
# The columns of form 1, as they were when these rows were chained.
FIELDS = (
    "instrument_id", "seq", "key", "fingerprint", "subject", "kind", "outcome", "findings",
    "data", "reason", "by_id", "who", "beside", "corrects_id", "station", "device",
    "claimed_at", "at", "form",
)  # fmt: skip


def chain_up(apps: Any, editor: Any) -> None:
    _take_down_the_guard(editor)
    kept = Kept(apps)
    ends: dict[int | None, tuple[int, str]] = {}
    for row in _rows(apps):
        seq, before = ends.get(row.instrument_id, (0, ""))
        row.seq, row.who, row.beside, row.form = seq + 1, row.by.code, "", 1
        # What a row says of itself already is never said anew.
        row.data = {**kept.said_besides(row), **row.data}
        row.link = hashlib.sha256(f"{before}\n{_line(row)}".encode()).hexdigest()
        ends[row.instrument_id] = row.seq, row.link
        names = ("seq", "who", "beside", "form", "data", "link")
        _all(apps, "Entry").filter(pk=row.pk).update(**{name: getattr(row, name) for name in names})
    for number, (seq, link) in ends.items():
        if number is not None:
            _all(apps, "Instrument").filter(pk=number).update(seq=seq, link=link)
    if None in ends:
        seq, link = ends[None]
        _all(apps, "Loose").update_or_create(pk=1, defaults={"seq": seq, "link": link})


def unchain(apps: Any, editor: Any) -> None:
    """Rows of no instrument had no place before. The rest of what was said stays in the rows."""
    _take_down_the_guard(editor)
    _all(apps, "Entry").filter(instrument=None).update(seq=None)


def _take_down_the_guard(editor: Any) -> None:
    """It is up where this was migrated before; it is put up again after every migration."""
    on = " ON floor_entry" if editor.connection.vendor == "postgresql" else ""
    for what in ("update", "delete", "truncate", "replace"):
        editor.execute(f"DROP TRIGGER IF EXISTS floor_entry_no_{what}{on}")


def _all(apps: Any, name: str) -> Any:
    return apps.get_model("floor", name).objects


def _rows(apps: Any) -> Any:
    """All rows in the order they were written, a page at a time: they change on the way."""
    last = 0
    while page := list(
        _all(apps, "Entry")
        .filter(pk__gt=last)
        .select_related("by", "instrument")
        .order_by("pk")[:PAGE]
    ):
        yield from page
        last = page[-1].pk


def _line(row: Any) -> str:
    said = {name: getattr(row, name) for name in FIELDS}
    said["key"] = str(row.key)
    for name in ("at", "claimed_at"):
        if said[name] is not None:
            said[name] = said[name].astimezone(UTC).isoformat(timespec="microseconds")
    return json.dumps(said, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


class Kept:
    """What the tables know of a row beyond what it says itself."""

    def __init__(self, apps: Any) -> None:
        self.apps = apps
        looks = _all(apps, "Entry").filter(instrument__isnull=False)
        done = looks.filter(outcome=RECORDED)
        trays, readings = looks.filter(kind="tray"), done.filter(kind="readings")
        posts = done.filter(kind="positions")
        # A refused scan of a tray is a look at it too.
        self.last_tray, self.last_readings = self._last(trays), self._last(readings)
        self.last_posts = self._last(posts)
        self.last_look = self._last(trays | readings | posts)

    def said_besides(self, row: Any) -> dict[str, Any]:
        if row.kind == "tray":
            return self._tray(row)
        if row.kind == "answer":
            call = _all(self.apps, "HelpCall").filter(pk=row.data["call_id"]).first()
            return {"row": call.entry_id} if call else {}
        of_kind = {
            "arrival": self._arrival,
            "release": self._release,
            "step": self._step,
            "readings": self._readings,
            "positions": self._positions,
            "tag": self._tag,
            "call": self._call,
        }.get(row.kind)
        return of_kind(row) if of_kind and row.outcome == RECORDED else {}

    @staticmethod
    def _last(rows: Any) -> set[int]:
        found = rows.order_by().values("instrument").annotate(last=Max("pk"))
        return {one["last"] for one in found}

    def _of(self, name: str, row: Any) -> Any:
        return _all(self.apps, name).filter(instrument=row.instrument_id)

    def _standing(self, row: Any) -> Any:
        return row.instrument.standing if row.pk in self.last_look else {}

    def _arrival(self, row: Any) -> dict[str, Any]:
        which = row.data["part"]
        part = _all(self.apps, which.capitalize()).get(serial=row.data["serial"])
        tag = _all(self.apps, "Tag").filter(**{which: part}).order_by("made_at", "pk").first()
        coat = part.coated_on if which == "body" else None
        return {
            "tag": tag.code,
            "spec_id": part.spec_id,
            "coated_on": coat.isoformat() if coat else None,
        }

    def _release(self, row: Any) -> dict[str, Any]:
        made = row.instrument
        agreed = self._of("Deviation", row).order_by("pk")
        return {
            "revision_id": made.revision_id,
            "tray_id": made.tray_id,
            "swaps": [list(one) for one in agreed.values_list("out_item_id", "in_item_id")],
            "destination": made.destination,
        }

    def _step(self, row: Any) -> dict[str, Any]:
        """The step also gets its place; and a neck's tag retires with the pair, as it does now."""
        step = self._of("Step", row).get(entry=row.pk)
        self._of("Step", row).filter(pk=step.pk).update(seq=row.seq)
        last = self._of("Step", row).order_by("pk").last()
        pair = self._of("Pair", row).filter(made_at=row.at).select_related("neck").first()
        if pair:
            tags = _all(self.apps, "Tag").filter(neck=pair.neck, void_at__isnull=True)
            tags.filter(made_at__lte=row.at).update(void_at=row.at, void_why="paired")
        return {
            "operation_id": step.operation_id,
            "counts": step.at.isoformat(),
            "others": [],
            "doubt": "",
            "pairs": pair.neck.serial if pair else "",
            "closes": False,
            "back": False,
            "finished": step.pk == last.pk and row.instrument.finished_at == step.at,
            "done_at": None,
        }

    def _tray(self, row: Any) -> dict[str, Any]:
        """A refused scan says it too: the look counts, whatever came of it."""
        last = row.pk in self.last_tray
        found = row.findings[0]["severity"] if row.findings else ""  # the worst comes first
        return {
            "version": row.instrument.checked_version if last else None,
            "worst": row.instrument.checked_worst if last else found,
            "standing": self._standing(row),
        }

    def _readings(self, row: Any) -> dict[str, Any]:
        readings = self._of("Reading", row).order_by("pk")
        taken = [
            [one.quantity, one.place, _figure(one.value)] for one in readings.filter(entry=row.pk)
        ]
        gauged = row.instrument.gauged
        if row.pk not in self.last_readings:
            in_force: dict[tuple[str, str], str] = {}
            for one in readings.filter(entry__lte=row.pk):
                in_force.pop((one.quantity, one.place), None)
                in_force[one.quantity, one.place] = _figure(one.value)
            gauged = [[*spot, value] for spot, value in in_force.items()]
        return {"values": taken, "gauged": gauged, "standing": self._standing(row)}

    def _positions(self, row: Any) -> dict[str, Any]:
        photo = self._of("Photo", row).filter(entry=row.pk).first()
        return {
            "photo": photo.sha256 if photo else "",
            "bytes": photo.bytes if photo else 0,
            "standing": self._standing(row),
            "placed": row.instrument.placed_version if row.pk in self.last_posts else None,
        }

    def _tag(self, row: Any) -> dict[str, Any]:
        """Nobody said then why a tag was replaced, nor read a mark."""
        tags = _all(self.apps, "Tag")
        old = tags.get(code=row.data["code"])
        new = tags.get(body=old.body_id, neck=old.neck_id, made_at=row.at)
        return {"new": new.code, "why": "", "mark": ""}

    def _call(self, row: Any) -> dict[str, Any]:
        """Nothing is said besides, but the call learns of its row."""
        calls = self._of("HelpCall", row).filter(by=row.by_id, at=row.at, entry=None)
        call = calls.order_by("pk").first()
        if call:
            self._of("HelpCall", row).filter(pk=call.pk).update(entry=row.pk)
        return {}


def _figure(value: Decimal) -> str:
    return format(value.normalize(), "f")


class Migration(migrations.Migration):
    dependencies: ClassVar = [("floor", "0003_course_reworks_and_the_chain")]

    operations: ClassVar = [migrations.RunPython(chain_up, unchain)]
