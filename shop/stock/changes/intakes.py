"""Lists brought in: read and judged first, then taken over whole or not at all."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import Any, Final

from django.db import IntegrityError, transaction
from django.utils import timezone

from shop.catalogue import revising
from shop.craft.words import several
from shop.stock.changes import bins, keeping
from shop.stock.changes.balance import MOVED, OutOfStep, held_lot, move
from shop.stock.lists import KINDS
from shop.stock.lists.files import Fault, Unreadable, read
from shop.stock.lists.kind import BAD, CHANGED, NEW, SAME, Judged, Told, cells_of, columns_of, judge
from shop.stock.models import Bin, Intake, Lot

NAME: Final = 120  # characters of a file's name


@dataclass(frozen=True, slots=True)
class By:
    """Who takes a list over, when, and which."""

    badge: int
    at: datetime
    why: str


def _item(told: Told, by: By) -> int:
    return revising.keep_item(told.takes["item"])


def _lot(told: Told, by: By) -> int:
    """A new lot. Raises ``OutOfStep`` where somebody took it in since the row was judged."""
    takes = dict(told.takes)
    quantity, place = takes.pop("quantity"), takes.pop("bin_code")
    lot = Lot(
        item_id=takes["item_id"],
        bin=Bin.objects.filter(code=place).first() or _new_bin(place),
        code=takes["lot"],
        plating=takes["plating"],
        received_on=takes["on"],
        best_before=takes["best_before"],
    )
    try:
        with transaction.atomic():
            lot.save()
    except IntegrityError:
        raise OutOfStep(f"Lot {lot.code} is in {place} already: count it instead.") from None
    move(held_lot(lot.pk), "received", on_hand=quantity, at=by.at, by=by.badge, why=by.why)
    return lot.pk


def _new_bin(code: str) -> Bin:
    return Bin.objects.get(code=bins.make_bin(code))


def _delivery(told: Told, by: By) -> int:
    return keeping.expect(**told.takes)


def _order(told: Told, by: By) -> int:
    return keeping.book_order(**told.takes)


# What is done with a row of each kind of list that is new or changes what is there.
ACTS: Final[dict[str, Callable[[Told, By], int]]] = {
    "items": _item,
    "stock": _lot,
    "receipts": _delivery,
    "orders": _order,
}


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of taking a list over."""

    taken: bool
    new: int = 0
    changed: int = 0
    # Not taken: which rows are not as they were when the list was last looked at.
    meanwhile: tuple[str, ...] = ()
    # Taken: what stands against kits now.
    against: tuple[str, ...] = ()
    already: bool = False  # it was taken over before


def bring_in(what: str, name: str, content: bytes, by: int, at: datetime) -> int:
    """Read a list and judge every row; nothing changes. Returns the intake's id.

    Raises ``OutOfStep`` where the file is no such list at all.
    """
    if (kind := KINDS.get(what)) is None:
        raise OutOfStep("Say what kind of list it is.")
    try:
        table = read(content, kind.names)
    except Unreadable as why:
        raise OutOfStep(str(why)) from why
    columns, faults = columns_of(kind, table)
    if not any(columns):
        raise OutOfStep(
            f"This is no list of {what}: its first line names none of the columns "
            f"{', '.join(one.name for one in kind.columns if one.needed)}. Choose another file."
        )
    if not table.lines[1:]:
        raise OutOfStep("The list has no rows below its first line. Choose another file.")
    rows, wrong = cells_of(columns, table)
    told = [Fault(table.lines[0].number, "", table.told, stops=False)] if table.told else []
    # Where a column is missing every row would say so.
    judged = () if faults else judge(kind, rows, _day(at))
    intake = Intake(
        what=what,
        name=name[:NAME],
        rows=_rows(judged, wrong) if judged else [_bare(*row) for row in rows],
        faults=[asdict(one) for one in (*told, *faults, *wrong, *_faults(judged, wrong))],
        by_id=by,
        at=at,
    )
    intake.save()
    return intake.pk


def accept(intake_id: int, by: int, at: datetime) -> Outcome:
    """Take a list over: every row of it or none, and once however often it is asked.

    Each row is judged again. Where one is not as it was when the list was last looked at,
    nothing is taken over and the list is kept as it stands now, to be looked at again.
    Raises ``OutOfStep`` for no such list, for one that is bad in itself, and where the
    shelf changes at this very moment.
    """
    with transaction.atomic():
        intake = Intake.objects.select_for_update().filter(pk=intake_id).first()
        if intake is None:
            raise OutOfStep("There is no such list. Bring it in again.")
        if intake.taken_at:
            return Outcome(taken=True, already=True)
        stops = [one for one in intake.faults if one["stops"]]
        if not all(one["may_pass"] for one in stops):
            raise OutOfStep(_not_taken(len(stops)))
        kind = KINDS[intake.what]
        judged = judge(kind, [(row["line"], row["cells"]) for row in intake.rows], _day(at))
        if meanwhile := _meanwhile(intake.rows, judged):
            _keep(intake, judged)
            return Outcome(taken=False, meanwhile=meanwhile)
        if stops:
            raise OutOfStep(_not_taken(len(stops)))
        against = _take(intake, judged, By(by, at, f"List {intake.name}"[:MOVED]))
        intake.taken_by_id, intake.taken_at = by, at
        intake.save(update_fields=["taken_by", "taken_at"])
    count = [one.state for one in judged].count
    return Outcome(taken=True, new=count(NEW), changed=count(CHANGED), against=against)


def _take(intake: Intake, judged: Sequence[Judged], by: By) -> tuple[str, ...]:
    """Do what every row says. Returns what stands against kits by the items that changed."""
    act, changed = ACTS[intake.what], []
    for row in judged:
        if row.told is None or row.state == SAME:
            continue
        try:
            key = act(row.told, by)
        except (OutOfStep, revising.NotReady) as why:
            words = f"Line {row.line}: {why} Nothing of the list is taken over."
            raise OutOfStep(words) from why
        if row.state == CHANGED:
            changed.append(key)
    return tuple(revising.kits_against(changed)) if intake.what == "items" else ()


def _not_taken(bad: int) -> str:
    """That a list with bad rows is not taken over.

    >>> _not_taken(1)
    'Nothing is taken over: 1 thing is wrong in it. Correct the file and bring it in again.'
    """
    is_wrong = "is" if bad == 1 else "are"
    return (
        f"Nothing is taken over: {several(bad, 'thing')} {is_wrong} wrong in it. "
        "Correct the file and bring it in again."
    )


def _day(at: datetime) -> date:
    return timezone.localtime(at).date()


# --- how rows are kept ---


def _rows(judged: Sequence[Judged], wrong: Sequence[Fault]) -> list[dict[str, Any]]:
    unread = {one.line for one in wrong}
    return [
        {
            "line": one.line,
            "cells": dict(one.cells),
            "about": one.about,
            "state": BAD if one.line in unread else one.state,
            "words": "" if one.line in unread else one.words,
        }
        for one in judged
    ]


def _bare(line: int, cells: Mapping[str, str]) -> dict[str, Any]:
    """A row under a head that is wrong: as read, not judged."""
    return {"line": line, "cells": dict(cells), "about": "", "state": BAD, "words": ""}


def _faults(judged: Sequence[Judged], wrong: Sequence[Fault] = ()) -> list[Fault]:
    """What is wrong with rows, where the file itself has said nothing of the same cell."""
    said = {(one.line, one.column) for one in wrong}
    return [
        fault for one in judged for fault in one.faults if (fault.line, fault.column) not in said
    ]


def _meanwhile(rows: Sequence[Mapping[str, Any]], judged: Sequence[Judged]) -> tuple[str, ...]:
    """Which rows are not as they were kept, in words."""
    return tuple(
        f"Line {now.line}, {now.about}: was {_words(was['state'], was['words'])}, "
        f"is {_words(now.state, now.words)} now."
        for was, now in zip(rows, judged, strict=True)
        if (was["state"], was["words"]) != (now.state, now.words)
    )


def _words(state: str, words: str) -> str:
    return f"{state} ({words})" if words else state


def _keep(intake: Intake, judged: Sequence[Judged]) -> None:
    kept = [one for one in intake.faults if not one["stops"]]
    intake.rows = _rows(judged, ())
    intake.faults = [*kept, *map(asdict, _faults(judged))]
    intake.save(update_fields=["rows", "faults"])
