"""An instrument leaves: it is boxed, and a carrier takes it.

Boxed: the case, the label on the carton and the record are of one instrument, each scanned by
itself. What hangs on the case and what sticks on the carton carry codes of their own, so the
one cannot be scanned in the place of the other.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any, ClassVar, Final

from django.utils.timezone import localtime

from shop.craft import leaving
from shop.craft.code import Kind, pretty
from shop.craft.finding import Finding, stop
from shop.floor.deeds.cartons import standing, unboxed, unreleased
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.deeds.endings import ended, finished
from shop.floor.deeds.gating import against
from shop.floor.deeds.labels import LABEL, newest_outdated, outdated
from shop.floor.deeds.prints import latest_copy
from shop.floor.deeds.reworks import barred
from shop.floor.deeds.steps import StepDone
from shop.floor.deeds.tags import void_words
from shop.floor.models import Carton, Entry, Manifest, Print, Tag
from shop.floor.state import State

DOCK: Final = "dock"  # what rows of manifests speak of
CARD: Final = "hold_card"  # the form that hangs on the case
LONGEST: Final = 40  # letters of a carrier's name
MOST: Final = 500  # cartons that one carrier takes at once
CASE_SCAN: Final = "Scan the card on the handle of the case, or the tag on the guitar in it."
LABEL_SCAN: Final = "Scan the label on the carton."


@dataclass(frozen=True, slots=True)
class Boxed(Deed):
    """It lies in its carton with its papers. ``case`` is the code that was scanned on the
    case, of its hold card or of the tag in it; ``label`` that of the label on the carton."""

    kind: ClassVar[str] = "boxed"
    instrument_id: int
    case: str
    label: str

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def said_before(self, act: Act, ground: Ground) -> bool:
        carton = standing(ground.facts)
        return carton is not None and (carton.case, carton.label) == (self.case, self.label)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        if over := (*ended(now), *finished(now), *unreleased(now)):
            return over
        found = (*case_gate(now, self.case), *label_gate(now, self.label))
        return (*found, *self._work(now, act))

    def _work(self, now: State, act: Act) -> tuple[Finding, ...]:
        """What stands against the operation itself, where it is not recorded yet."""
        code = leaving.boxing(now.sheet.route)
        if not code or code in now.done_codes:
            return barred(now, act.asking, "frozen", "rework", "open")
        return against(now, code, act.asking, fresh=True)

    @classmethod
    def follow(cls, row: Entry) -> None:
        Carton.objects.create(
            instrument_id=row.number,
            label=row.data["label"],
            case=row.data["case"],
            at=row.at,
            by_id=row.by_id,
            entry=row,
        )

    def then(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> tuple[Deed, ...]:
        """The operation of its route is done by it."""
        now: State = ground.facts
        code = leaving.boxing(now.sheet.route)
        if not recorded or not code or code in now.done_codes:
            return ()
        return (StepDone(now.id, code),)


@dataclass(frozen=True, slots=True)
class HandedOver(Deed):
    """A carrier takes these cartons. ``counted`` is how many a person counted on the dock,
    beside those that were scanned."""

    kind: ClassVar[str] = "handed over"
    instruments: tuple[int, ...]
    carrier: str
    counted: int

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        numbers = sorted(dict.fromkeys(self.instruments))  # in one order: nobody waits for ever
        return Ground(DOCK, facts=[held(number).facts for number in numbers])

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        them: list[State] = ground.facts
        found = [*self._said(them)]
        for now in them:
            found += undelivered(now, act)
        return tuple(found)

    def _said(self, them: list[State]) -> Iterator[Finding]:
        count = len(them)
        if not count:
            yield stop("dock", "No carton was scanned.", LABEL_SCAN, call="")
        elif count > MOST:
            words = f"{count} cartons are on this list, which takes {MOST}."
            yield stop("dock", words, "Make two lists.", call="")
        elif self.counted != count:
            words = f"Counted {self.counted}, scanned {count}."
            then = "Count again. Scan the one that is missing, or take off the one too many."
            yield stop("count", words, then, call="")
        if not self.carrier:
            yield stop("carrier", "No carrier is named.", "Say who takes them.", call="")
        elif len(self.carrier) > LONGEST:
            words = f"The carrier's name has {len(self.carrier)} letters."
            yield stop("carrier", words, f"Shorten it to {LONGEST} letters.", call="")

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        them: list[State] = ground.facts
        said: dict[str, Any] = {"serials": [one.serial for one in them]}
        if recorded:
            ground.seen = said["number"] = _next_number()
        return said

    @classmethod
    def follow(cls, row: Entry) -> None:
        said = row.data
        Manifest.objects.create(
            number=said["number"],
            carrier=said["carrier"],
            counted=said["counted"],
            at=row.at,
            by_id=row.by_id,
            entry=row,
        )

    def then(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> tuple[Deed, ...]:
        """Each carton goes on the list by a row of its own instrument, and the last operation
        of its route is done."""
        if not recorded:
            return ()
        more: list[Deed] = []
        for now in ground.facts:
            more.append(Carried(now.id, ground.seen, self.carrier))
            code = leaving.handing(now.sheet.route)
            if code and code not in now.done_codes:
                more.append(StepDone(now.id, code))
        return tuple(more)


@dataclass(frozen=True, slots=True)
class Carried(Deed):
    """Its carton went with a carrier, on this list. It comes about with ``HandedOver``."""

    kind: ClassVar[str] = "carried"
    instrument_id: int
    manifest: str
    carrier: str

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        carton = standing(now)
        if carton is None:
            return (unboxed(now),)
        if carton.manifest is not None:
            return (_gone(now, carton),)
        if not Manifest.objects.filter(number=self.manifest).exists():
            words = f"There is no list {self.manifest} here."
            return (stop("dock", words, "Hand it over on the page of the dock.", call=""),)
        return ()

    @classmethod
    def follow(cls, row: Entry) -> None:
        newest = Carton.objects.filter(instrument_id=row.number).order_by("-id").first()
        if newest is None:
            raise LookupError(f"instrument {row.number} has no carton")
        newest.manifest = Manifest.objects.get(number=row.data["manifest"])
        newest.save(update_fields=["manifest"])


def undelivered(now: State, act: Act) -> tuple[Finding, ...]:
    """Why a carrier cannot take it: what keeps it here, or what its label says that is not so
    since it was scanned."""
    carton = standing(now)
    if carton is not None and carton.manifest is not None:
        return (_gone(now, carton),)
    if over := (*ended(now), *finished(now), *unreleased(now)):
        return over
    if carton is None:
        return (unboxed(now),)
    code, stale = leaving.handing(now.sheet.route), newest_outdated(now)
    if not code or code in now.done_codes:
        return (*barred(now, act.asking, "frozen", "rework", "open"), *stale)
    return (*against(now, code, act.asking, fresh=True), *stale)


def case_gate(now: State, code: str) -> tuple[Finding, ...]:
    """What was scanned on the case is of this instrument."""
    if code.startswith(Kind.PAPER.value):
        row = Print.objects.filter(code=code).values_list("form", "words", "of").first()
        if row is None:
            return (_unknown(code, CASE_SCAN),)
        form, name, of = row
        if form != CARD:
            words = f"This is the {name.lower()} of {of}: it says nothing of the case."
            return (stop("box case", words, CASE_SCAN, call=""),)
        return (
            ()
            if of == now.serial
            else (_other(now, f"The card on this case is of {of}. The record is of {now.serial}."),)
        )
    if not code.startswith(Kind.BODY.value):
        words = "The case was not scanned." if not code else f"{pretty(code)} is on no case."
        return (stop("box case", words, CASE_SCAN, call=""),)
    tag = Tag.objects.filter(code=code, body__isnull=False).select_related("body").first()
    if tag is None or tag.body is None:
        return (_unknown(code, CASE_SCAN),)
    if tag.body.serial != now.serial:
        return (
            _other(
                now, f"The guitar in this case is {tag.body.serial}. The record is of {now.serial}."
            ),
        )
    if tag.void_at is not None:
        since = f"{localtime(tag.void_at):%Y-%m-%d}"
        words = f"{pretty(code)} is void since {since}: {void_words(tag.void_why)}."
        then = "Scan the tag in use, and cut this one up."
        return (stop("tag void", words, then, call=""),)
    return ()


def label_gate(now: State, code: str) -> tuple[Finding, ...]:
    """What was scanned on the carton is the label of this instrument, the newest of them, and
    says what is so."""
    of, wrong = label_of(code)
    if of and of != now.serial:
        return (
            _other(now, f"The label on this carton is of {of}. The record is of {now.serial}."),
        )
    return (wrong,) if wrong else label_says(now, code)


def label_says(now: State, code: str) -> tuple[Finding, ...]:
    """Why the label of this instrument with this code cannot go along: it no longer says what
    is so."""
    return outdated(now, Print.objects.get(code=code))


def label_of(code: str) -> tuple[str, Finding | None]:
    """The serial that a carton's label is of, and why it is not the one to go by; "" for what
    is no label of a carton."""
    if not code.startswith(Kind.PAPER.value):
        words = "The carton was not scanned."
        if code.startswith(Kind.BODY.value):
            words = "This is the tag on the body, not the label on the carton."
        elif code:
            words = f"{pretty(code)} is no label of a carton."
        then = "Scan the label on the carton. If it has none, print it."
        return "", stop("box label", words, then, call="")
    row = Print.objects.filter(code=code).first()
    if row is None:
        return "", _unknown(code, LABEL_SCAN)
    if row.form != LABEL:
        words = f"This is the {row.words.lower()} of {row.of}, not the label on the carton."
        return "", stop("box label", words, LABEL_SCAN, call="")
    latest = latest_copy(row.instrument_id, LABEL, row.of)
    if row.copy == latest:
        return row.of, None
    words = f"This label is copy {row.copy}; copy {latest} was printed since."
    then = "Stick the newer one on the carton and tear this one up. Then scan it."
    return row.of, stop("box label", words, then, call="")


def agree(now: State, case: str, label: str = "") -> tuple[Finding, ...]:
    """What can be said of the scans so far, before anything is recorded."""
    return (*case_gate(now, case), *(label_gate(now, label) if label else ()))


def _other(now: State, words: str) -> Finding:
    then = f"Set this carton aside. Find the case and the label of {now.serial}."
    return stop("box", words, then)


def _unknown(code: str, then: str) -> Finding:
    words = f"{pretty(code)} is a whole code, but nothing here carries it."
    return stop("tag unknown", words, then, call="")


def _gone(now: State, carton: Carton) -> Finding:
    assert carton.manifest is not None  # asked before
    one = carton.manifest
    when = f"{localtime(one.at):%Y-%m-%d}"
    words = f"{now.serial} was handed to {one.carrier} {when}, on list {one.number}."
    return stop("carried", words, "Take it off this list.", call="")


def _next_number() -> str:
    last = Manifest.objects.order_by("-id").values_list("number", flat=True).first()
    return f"M-{int(last.partition('-')[2]) + 1 if last else 1:04}"
