"""What a paper says that may change, and what changed since it was printed."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from django.utils.timezone import localtime

from shop.craft.code import Kind, mint
from shop.craft.finding import Finding, note, warn
from shop.craft.route import Part
from shop.craft.words import listed
from shop.floor.deeds.prints import TAGS
from shop.floor.deeds.tags import new_code
from shop.floor.models import Print, Tag
from shop.floor.state import State

Stands = tuple[tuple[str, str], ...]
"""What a paper says that may change: pairs of what and how. The same what may come again."""


@dataclass(frozen=True, slots=True)
class NextPrint:
    """The copy that comes next: its number, the code it is to carry (empty where it carries
    none of its own), and when the tag it takes the place of was printed."""

    of: str
    copy: int
    code: str
    replaces: datetime | None = None


def next_prints(them: Sequence[State], form: str, own_code: bool) -> dict[int, NextPrint]:
    """By the number of the instrument, what its next copy of a form is. A neck tag is left out
    where there is no neck, and a tag where none is in use: nothing can be printed then.

    Three statements at most for any number, and one for each code that is minted.
    """
    part = TAGS.get(form)
    of = {one.id: (one.neck or "") if part == "neck" else one.serial for one in them}
    rows = Print.objects.filter(instrument_id__in=list(of), form=form)
    latest: dict[tuple[int, str], int] = {}
    for number, whose, copy in rows.values_list("instrument_id", "of", "copy"):
        latest[number, whose] = max(copy, latest.get((number, whose), 0))
    tags = _live(part, [serial for serial in of.values() if serial]) if part else {}
    found = {}
    for number, serial in of.items():
        copy = latest.get((number, serial), 0) + 1
        if part is None:
            found[number] = NextPrint(serial, copy, _paper_code() if own_code else "")
        elif serial in tags:
            code, printed_at = tags[serial]
            if printed_at:
                code = new_code(part)
            found[number] = NextPrint(serial, copy, code, printed_at)
    return found


def _live(part: Part, serials: Sequence[str]) -> dict[str, tuple[str, datetime | None]]:
    rows = Tag.objects.filter(**{f"{part}__serial__in": serials}, void_at__isnull=True)
    columns = (f"{part}__serial", "code", "printed_at")
    return {serial: (code, at) for serial, code, at in rows.values_list(*columns)}


def _paper_code() -> str:
    while Print.objects.filter(code=(code := mint(Kind.PAPER, secrets.randbelow))).exists():
        continue
    return code


def stands_on(form: str, now: State, at: datetime) -> Stands:
    """What a form says of this instrument at this moment that may change."""
    says = SAYS.get(form)
    return tuple(says(now, at)) if says else ()


def _traveller(now: State, at: datetime) -> Iterator[tuple[str, str]]:
    yield "revision", f"{now.sheet.spec.key} {now.sheet.spec.revision}"
    yield "due", f"{now.due_on:%Y-%m-%d}"
    yield "priority", "urgent" if now.urgent else "normal"
    yield "order", now.order or "none"
    yield "neck", now.neck or "none"
    for one in now.departures:
        yield "deviation", f"{one.words} ({one.approved})"
    for line in now.kit:
        yield "hardware", f"{line.quantity} × {line.article.key} {line.article.name}"
    for name, value in now.sheet.targets:
        yield "limit", f"{name} {value}"


SAYS: Final[dict[str, Callable[[State, datetime], Iterator[tuple[str, str]]]]] = {
    "traveller": _traveller,
}


@dataclass(frozen=True, slots=True)
class OnPaper:
    """A printed paper that was scanned: which it is, and what to know of it before one goes
    by it."""

    form: str
    copy: int
    at: datetime
    finding: Finding


def on_paper(code: str, now: State, at: datetime) -> OnPaper | None:
    """What a scanned paper of this instrument says that is no longer so. None where
    the code is no paper of it. Two statements, none where there is no code.
    """
    row = Print.objects.filter(code=code, instrument_id=now.id).first() if code else None
    if row is None:
        return None
    name = row.words.lower()
    copies = Print.objects.filter(instrument_id=now.id, form=row.form, of=row.of)
    newest = copies.order_by("-copy").values_list("copy", "at")[0]
    kept: Stands = tuple((what, how) for what, how in row.stands)
    changes = tuple(changed(kept, stands_on(row.form, now, at)))
    printed = f"copy {row.copy}, printed {localtime(row.at):%Y-%m-%d %H:%M}"
    if newest[0] != row.copy:
        words = (
            f"This {name} is {printed}. Copy {newest[0]} was printed "
            f"{localtime(newest[1]):%Y-%m-%d %H:%M}."
        )
        then = "Go by the newer one and tear this one up."
        if changes:
            words = f"{words} Since this one: {' '.join(changes)}"
        return OnPaper(row.form, row.copy, row.at, warn("paper old", words, then))
    if changes:
        words = f"This {name} is {printed}. Since then: {' '.join(changes)}"
        then = "Go by this screen. Have it printed again."
        return OnPaper(row.form, row.copy, row.at, warn("paper old", words, then))
    words = f"This {name} is {printed}, and what it says still stands."
    return OnPaper(row.form, row.copy, row.at, note("paper true", words, ""))


def changed(then: Stands, now: Stands) -> Iterator[str]:
    """What differs, a sentence each, in the order it stands on paper."""
    whats = dict.fromkeys(what for what, _ in (*then, *now))
    for what in whats:
        old = [how for its, how in then if its == what]
        new = [how for its, how in now if its == what]
        if old == new:
            continue
        name = what.capitalize()
        gone = [how for how in old if how not in new]
        come = [how for how in new if how not in old]
        if len(old) == len(new) == 1:
            yield f"{name} {new[0]}, on paper {old[0]}."
            continue
        if come:
            yield f"{name} added: {listed(come)}."
        if gone:
            yield f"{name} no longer: {listed(gone)}."
