"""What a paper says that may change, and what changed since it was printed."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from django.db.models import Max
from django.utils.timezone import localtime

from shop.craft.code import Kind
from shop.craft.finding import Finding, Severity, note, warn
from shop.craft.route import Part
from shop.craft.when import on_the_minute
from shop.craft.words import THIN, listed
from shop.floor.deeds import labels, loops
from shop.floor.deeds.prints import TAGS
from shop.floor.deeds.tags import new_codes, unused
from shop.floor.differing import Stands, changed
from shop.floor.models import Print, Tag
from shop.floor.state import State
from shop.floor.telling import stamp

RACK_SLOT: Final = "rack slot"
BY_HAND: Final = frozenset({RACK_SLOT})
"""What is left to be written by hand on a paper where it is not known as that is printed."""


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

    A tag that never left the printer keeps its code when it does: one that was made before
    prints were counted too, though it may hang on its part already.

    Three statements at most for any number.
    """
    part = TAGS.get(form)
    of = {one.id: (one.neck or "") if part == "neck" else one.serial for one in them}
    rows = Print.objects.filter(instrument_id__in=list(of), form=form).order_by()
    counted = rows.values_list("instrument_id", "of").annotate(Max("copy"))
    latest = {(number, serial): copy for number, serial, copy in counted}
    copies = {number: latest.get((number, serial), 0) + 1 for number, serial in of.items()}
    if part:
        return _next_tags(part, of, copies)
    codes = unused(Kind.PAPER, len(of), Print.objects.all()) if own_code else [""] * len(of)
    return {
        number: NextPrint(of[number], copies[number], code)
        for number, code in zip(of, codes, strict=True)
    }


def _next_tags(part: Part, of: dict[int, str], copies: dict[int, int]) -> dict[int, NextPrint]:
    live = _live(part, [serial for serial in of.values() if serial])
    codes = new_codes(part, sum(1 for _, printed_at in live.values() if printed_at))
    found = {}
    for number, serial in of.items():
        if serial in live:
            code, printed_at = live[serial]
            code = codes.pop() if printed_at else code
            found[number] = NextPrint(serial, copies[number], code, printed_at)
    return found


def _live(part: Part, serials: Sequence[str]) -> dict[str, tuple[str, datetime | None]]:
    rows = Tag.objects.filter(**{f"{part}__serial__in": serials}, void_at__isnull=True)
    columns = (f"{part}__serial", "code", "printed_at")
    return {serial: (code, at) for serial, code, at in rows.values_list(*columns)}


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
    yield from now.sheet.targets


def _hold_card(now: State, at: datetime) -> Iterator[tuple[str, str]]:
    held = now.held(localtime(at))
    if held is None:
        until = "it is cased again"
    elif held.ready is None:
        until = "its days in the case run again"
    else:
        until = stamp(on_the_minute(held.ready))
    yield "release not before", until
    if now.slot:
        yield RACK_SLOT, now.slot
    yield "revision", f"{now.sheet.spec.key} {now.sheet.spec.revision}"


def _rework_card(now: State, at: datetime) -> Iterator[tuple[str, str]]:
    told = loops.pending(now.id)
    for one in told:
        yield "disposition", one["title"]
    if not told:
        yield "disposition", "nothing left to repair"
    loop = now.rework
    yield "route", listed(loop.redo) if loop and loop.redo else "nothing done again"
    if loop and loop.dry_until:
        yield "dries until", stamp(loop.dry_until)
    else:
        hours = max((one["dries_h"] for one in told), default=0)
        yield "dries until", f"{hours}{THIN}h after the repair" if hours else "no time to dry"


def _box_label(now: State, at: datetime) -> Iterator[tuple[str, str]]:
    yield from labels.says(now)


SAYS: Final[dict[str, Callable[[State, datetime], Iterator[tuple[str, str]]]]] = {
    "traveller": _traveller,
    "hold_card": _hold_card,
    "rework_card": _rework_card,
    labels.LABEL: _box_label,
}


def _said(row: Print) -> Stands:
    """What a paper that was printed says."""
    if row.form == labels.LABEL:
        return labels.said(row)
    return tuple((what, how) for what, how in row.stands)


@dataclass(frozen=True, slots=True)
class OnPaper:
    """A printed paper that was scanned: which it is, and what to know of it before one goes
    by it. ``newest``: no later copy was printed."""

    form: str
    name: str  # as a sentence names it
    copy: int
    newest: bool
    finding: Finding

    @property
    def again(self) -> bool:
        """Whether printing it again mends what is wrong with it."""
        return self.newest and self.finding.severity is Severity.WARN


def on_paper(code: str, now: State, at: datetime) -> OnPaper | None:
    """What a scanned paper of this instrument says that is no longer so. None where
    the code is no paper of it. Two statements, for the label of a carton up to three more; none
    where there is no code.
    """
    row = Print.objects.filter(code=code, instrument_id=now.id).first() if code else None
    if row is None:
        return None
    name = row.words.lower()
    copies = Print.objects.filter(instrument_id=now.id, form=row.form, of=row.of)
    newest, newest_at = copies.order_by("-copy").values_list("copy", "at")[0]
    kept = _said(row)
    left = BY_HAND.difference(what for what, _ in kept)
    stands = tuple(one for one in stands_on(row.form, now, at) if one[0] not in left)
    changes = tuple(changed(kept, stands))
    printed = f"This {name} is copy {row.copy}, printed {stamp(row.at)}"
    if newest != row.copy:
        words = f"{printed}. Copy {newest} was printed {stamp(newest_at)}."
        if changes:
            words = f"{words} Since this one: {' '.join(changes)}"
        found = warn("paper old", words, "Go by the newer one and tear this one up.")
    elif changes:
        words = f"{printed}. Since then: {' '.join(changes)}"
        found = warn("paper old", words, "Go by this screen. Have it printed again.")
    else:
        found = note("paper true", f"{printed}, and what it says still stands.")
    return OnPaper(row.form, name, row.copy, newest == row.copy, found)
