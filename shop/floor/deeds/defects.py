"""Defects noted at a look, and what is decided about each; some are noted by mistake."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from datetime import timedelta
from decimal import Decimal
from typing import Any, ClassVar, Final

from shop.catalogue import book
from shop.craft import rework, zones
from shop.craft.finding import Finding, any_stop, stop
from shop.craft.inspecting import body_map, disposing
from shop.craft.inspecting.classes import DefectClass
from shop.craft.inspecting.disposing import Decider, Decision, Disposition
from shop.craft.rework import LoopFacts
from shop.craft.start import Decided, Undecided
from shop.craft.when import in_utc, when_words
from shop.floor import course
from shop.floor.deeds import freezing
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.deeds.loops import DECIDED, send, sent
from shop.floor.deeds.reworks import barred, deep, told, unknown_place, wordy
from shop.floor.models import Defect, Entry, Instrument, Photo
from shop.floor.models.defects import WAITS, WITHDRAWN
from shop.floor.photos import Picture, keep
from shop.floor.state import State
from shop.people import badges
from shop.people.roles import holds

NOTED: Final = "noted"
FURTHEST_MM: Final = Decimal(2000)  # no place on a guitar is further from its bridge or nut
PLACED_MM: Final = Decimal("0.1")
SHIFT: Final = timedelta(hours=12)  # no shift is longer; common practice, no source
STOPS: Final = frozenset(
    {Disposition.RETURN, Disposition.HOLD, Disposition.SCRAP, Disposition.CANNIBALISE}
)
"""Those after which nothing more is done on it until the lead has looked."""


@dataclass(frozen=True, slots=True)
class DefectNoted(Deed):
    """This is wrong with it, here, and so bad; what becomes of it is decided later.

    ``grade`` is its class, 1 to 4; ``zone`` 1 to 16, 0 where it has no place. ``view`` is the
    drawing it was tapped on, ``x_mm`` and ``y_mm`` are from that one's reference
    (``craft.inspecting.body_map``). ``found_at`` is the operation or station, the phone's where
    nothing is said.
    """

    kind: ClassVar[str] = NOTED
    instrument_id: int
    family: str
    word: str
    grade: int
    zone: int = 0
    view: str = ""
    x_mm: Decimal | None = None
    y_mm: Decimal | None = None
    words: str = ""
    found_at: str = ""
    picture: Picture | None = None

    def plain(self) -> dict[str, Any]:
        return {
            "instrument_id": self.instrument_id,
            "family": self.family,
            "word": self.word,
            "grade": self.grade,
            "zone": self.zone,
            "view": self.view,
            "x_mm": None if self.x_mm is None else str(self.x_mm),
            "y_mm": None if self.y_mm is None else str(self.y_mm),
            "words": self.words,
            "found_at": self.found_at,
            "photo": self.picture.sha256 if self.picture else "",
        }

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        return (
            *barred(now, act.asking, "ended"),
            *self._said(),
            *self._placed(),
            *wordy(self.words),
            *unknown_place(now, self.found_at),
        )

    def _said(self) -> Iterator[Finding]:
        if self.word not in rework.WORDS.get(self.family, ()):
            words = f"{self.word or 'Nothing'} is no word for a defect of {self.family}."
            if self.family not in rework.WORDS:
                words = f"{self.word or 'Nothing'} is no word for a defect."
            yield stop("defect", words, "Choose a word of the list.", call="")
        if self.grade not in [one.value for one in DefectClass]:
            words = f"Class {self.grade} is none: there are 1 to {len(DefectClass)}."
            yield stop("class", words, "Choose how bad it is.", call="")

    def _placed(self) -> Iterator[Finding]:
        if self.zone and self.zone not in zones.PLACES:
            words = f"Zone {self.zone} is none: there are 1 to {len(zones.PLACES)}."
            yield stop("zone", words, "Tap where it is.", call="")
        both = [one for one in (self.x_mm, self.y_mm) if one is not None]
        near = all(one.is_finite() and abs(one) <= FURTHEST_MM for one in both)
        shows = self.zone in body_map.SHOWN.get(self.view, ())
        if len(both) == 1 or not near or ((both or self.view) and not shows):
            yield stop("place", "This is no place on the drawing.", "Tap where it is.", call="")

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        now: State = ground.facts
        if self.picture:
            keep(self.picture)
        found_at = self.found_at or act.station
        one = Undecided(
            number=now.seq + 1,
            family=self.family,
            word=self.word,
            grade=self.grade,
            zone=self.zone,
            disposition="",
            at=in_utc(act.at),
            found_at=found_at,
            found_by=act.by,
        )
        return {
            "found_at": found_at,
            "bytes": len(self.picture.jpeg) if self.picture else 0,
            "defects": _left(ground, (*now.undecided, one)),
        }

    @classmethod
    def follow(cls, row: Entry) -> None:
        said = row.data
        Defect.objects.create(
            instrument_id=row.number,
            number=row.seq,
            family=said["family"],
            word=said["word"],
            grade=said["grade"],
            zone=said["zone"],
            view=said["view"],
            x_mm=_placed_mm(said["x_mm"]),
            y_mm=_placed_mm(said["y_mm"]),
            words=said["words"],
            found_at=said["found_at"],
            found_by_id=row.by_id,
            at=row.at,
            entry=row,
        )
        if said["photo"]:
            Photo.objects.create(
                instrument_id=row.number,
                operation=said["found_at"],
                view="spot",
                sha256=said["photo"],
                bytes=said["bytes"],
                by_id=row.by_id,
                at=row.at,
                entry=row,
            )
        Instrument.objects.filter(pk=row.number).update(defects=said["defects"])


class OfDefect(Deed):
    """What is said of a defect that still waits, by the number of the row that noted it."""

    instrument_id: int
    number: int

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def waits(self, act: Act, now: State) -> tuple[Finding, ...]:
        """Why nothing can be said of it."""
        if over := barred(now, act.asking, "ended"):
            return over
        if _waiting(now, self.number) is not None:
            return ()
        words = f"Row {self.number} of {now.serial} is no defect that waits for a decision."
        rows = Defect.objects.filter(instrument_id=now.id, number=self.number)
        decided = rows.exclude(disposition="").select_related("decided_by").first()
        if decided is not None and decided.decided_by and decided.decided_at:
            when = when_words(decided.decided_at, act.asking.at)
            words = (
                f"{decided.word} of {now.serial} was decided {when} by {decided.decided_by.code}: "
                f"{decided.disposition}."
            )
        return (stop("undecided", words, "Look at the list of its defects.", call=""),)

    def told_of(self, now: State) -> dict[str, Any]:
        """Which defect it was, for whoever reads the row."""
        one = _waiting(now, self.number)
        if one is None:
            return {}
        return {"family": one.family, "word": one.word, "grade": one.grade, "zone": one.zone}


@dataclass(frozen=True, slots=True)
class DefectDecided(OfDefect):
    """This becomes of a defect: the act's reason says why, and of a serious one the badge
    beside decides with it.

    ``loop`` is the repair it goes to and ``depth_mm`` how deep that fills, where it is sent on
    one; ``department`` the neck or the body where that goes back to its makers.
    """

    kind: ClassVar[str] = DECIDED
    instrument_id: int
    number: int
    disposition: str
    loop: str = ""
    depth_mm: Decimal | None = None
    department: str = ""

    def plain(self) -> dict[str, Any]:
        return {
            "instrument_id": self.instrument_id,
            "number": self.number,
            "disposition": self.disposition,
            "chosen": self.loop,
            "depth_mm": None if self.depth_mm is None else str(self.depth_mm),
            "department": self.department,
        }

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        if out := (*self.waits(act, now), *self._of_the_lead(act, now)):
            return out
        if self.disposition not in [one.value for one in Disposition]:
            words = f"{self.disposition or 'Nothing'} is no disposition."
            return (stop("disposition", words, "Choose what becomes of it.", call=""),)
        noted = Defect.objects.select_related("found_by").get(
            instrument_id=now.id, number=self.number
        )
        offered = book.loops() if self._is_sent else ()
        loop = next((one for one in offered if one.key == self.loop), None)
        ground.seen = (noted, loop)
        found = (
            *self._judged(act, now, noted, loop),
            *unsigned(_second(act)),
            *self._loop(noted, loop),
        )
        if any_stop(found) or loop is None:
            return found
        return (*found, *told(now, loop, act.asking.at))

    def _of_the_lead(self, act: Act, now: State) -> Iterator[Finding]:
        """What is held for the lead is decided by them, or with them beside."""
        one = _waiting(now, self.number)
        if one and one.disposition == WAITS and not (settles(act.by) or settles(_second(act))):
            yield stop(
                "right",
                f"{one.words}, is held for the lead.",
                "The lead decides what becomes of it, or signs beside you.",
            )

    @property
    def _is_sent(self) -> bool:
        return self.disposition in disposing.SENT

    def _judged(
        self, act: Act, now: State, noted: Defect, loop: LoopFacts | None
    ) -> tuple[Finding, ...]:
        # The lead approves by deciding, or by signing beside whoever does.
        lead = settles(act.by) or settles(_second(act))
        pairing = now.sheet.pairing
        return disposing.judge(
            Decision(
                disposition=Disposition(self.disposition),
                defect_class=DefectClass(noted.grade),
                reason=act.reason,
                by=Decider(act.by, may_accept=lead, may_approve=lead),
                second=_second(act),
                loop=self.loop,
                department=self.department,
            ),
            found_by=noted.found_by.code,
            joined=pairing is not None and pairing.code in now.done_codes,
            cased=now.cased_at is not None,
            keeps_hold=loop is not None and loop.keeps_hold,
            electronics=bool(now.sheet.spec.electronics),
            pinned=now.sheet.spec.pin_taper_deg is not None,
        )

    def _loop(self, noted: Defect, loop: LoopFacts | None) -> Iterator[Finding]:
        if not self._is_sent:
            return
        if self.loop and loop is None:
            usual = rework.suggested(noted.word, noted.family)
            then = f"{noted.word} usually leads to {usual[0]}." if usual else "Choose a loop."
            yield stop("loop", f"{self.loop} is no rework loop here.", then)
        yield from deep(self.depth_mm)

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        now: State = ground.facts
        said = self.told_of(now) | {"second": _second(act)}
        if not recorded:
            return said
        noted, loop = ground.seen
        said |= {"found_at": noted.found_at, "words": noted.words}
        if loop is not None:
            found = ((noted.found_at, noted.found_by.code),)
            now, sent_on = sent(now, act, loop, noted.word, noted.words, self.depth_mm, found)
            said |= sent_on
        one = Decided(self.number, noted.found_at, (act.by, *act.others))
        ground.facts = replace(now, decided_kept=_and(now.decided, one))
        return said | {"defects": _left(ground, self._after(now))}

    def _after(self, now: State) -> tuple[Undecided, ...]:
        """Those that still wait then: one that is only held is among them."""
        if self.disposition != Disposition.HOLD:
            return tuple(one for one in now.undecided if one.number != self.number)
        return tuple(
            replace(one, disposition=self.disposition) if one.number == self.number else one
            for one in now.undecided
        )

    @classmethod
    def follow(cls, row: Entry) -> None:
        said = row.data
        loop = send(row) if "loop" in said else None
        Defect.objects.filter(instrument_id=row.number, number=said["number"]).update(
            disposition=said["disposition"],
            decided_at=row.at,
            decided_by_id=row.by_id,
            second=said["second"],
            reason=row.reason,
            department=said["department"],
            rework_id=loop,
        )
        about = Instrument.objects.filter(pk=row.number)
        before = course.decided(about.values_list("decided", flat=True).get())
        hands = tuple(one for one in (row.who, row.beside) if one)
        one = Decided(said["number"], said["found_at"], hands)
        about.update(defects=said["defects"], decided=_and(before, one))

    def then(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> tuple[Deed, ...]:
        """What the lead ends, or has yet to decide, is worked on no more. What it is frozen
        for already stays said."""
        if not recorded or self.disposition not in STOPS:
            return ()
        now: State = ground.facts
        noted, _ = ground.seen
        called = called_by(noted)
        words = f"{called}: {self._freezes()}, {act.reason.rstrip(' .')}."
        before = now.frozen
        if before is not None and not before.words.startswith(called):
            words = f"{words} Frozen before: {before.words}"
        found_at, found_by = noted.found_at, noted.found_by.code
        return (freezing.Frozen(self.instrument_id, words[:300], found_at, found_by),)

    def _freezes(self) -> str:
        match Disposition(self.disposition):
            case Disposition.HOLD:
                return "held for your decision"
            case Disposition.RETURN:
                return f"the {self.department} goes back to its makers"
            case Disposition.CANNIBALISE:
                return "to be scrapped, its good parts kept"
            case _:
                return "to be scrapped"


@dataclass(frozen=True, slots=True)
class DefectWithdrawn(OfDefect):
    """It was noted by mistake: whoever noted it says so in the same shift, or the lead."""

    kind: ClassVar[str] = WITHDRAWN
    instrument_id: int
    number: int

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def corrects(self) -> int | None:
        rows = Entry.objects.filter(instrument_id=self.instrument_id, seq=self.number, kind=NOTED)
        return rows.values_list("pk", flat=True).first()

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        if out := self.waits(act, now):
            return out
        noted = Defect.objects.select_related("found_by").get(
            instrument_id=now.id, number=self.number
        )
        lead = settles(act.by)
        own = act.by == noted.found_by.code and in_utc(act.at) - in_utc(noted.at) <= SHIFT
        if not (own or lead):
            since = when_words(noted.at, act.asking.at)
            words = f"{noted.word} was noted {since} by {noted.found_by.code}."
            then = "They withdraw it in the same shift, or the lead does."
            return (stop("withdrawn", words, then),)
        if not act.reason:
            words = f"{noted.word} of {now.serial} is withdrawn for a reason."
            return (stop("withdrawn", words, "Say what it was instead.", call=""),)
        return ()

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        now: State = ground.facts
        said = self.told_of(now)
        if not recorded:
            return said
        left = tuple(one for one in now.undecided if one.number != self.number)
        return said | {"defects": _left(ground, left)}

    @classmethod
    def follow(cls, row: Entry) -> None:
        Defect.objects.filter(instrument_id=row.number, number=row.data["number"]).update(
            disposition=WITHDRAWN,
            decided_at=row.at,
            decided_by_id=row.by_id,
            reason=row.reason,
        )
        Instrument.objects.filter(pk=row.number).update(defects=row.data["defects"])


def settles(code: str) -> bool:
    """Whether this badge settles what waits for the lead; nobody's does not."""
    badge = badges.active(code) if code else None
    return badge is not None and holds(badge, "instrument.settle")


def called_by(noted: Defect) -> str:
    """The defect by its word, class and place, as the lead is told of it."""
    place = f", {zones.PLACES[noted.zone]}" if noted.zone else ""
    return f"{noted.word}, class {noted.grade}{place}"


def _waiting(now: State, number: int) -> Undecided | None:
    return next((one for one in now.undecided if one.number == number), None)


def _left(ground: Ground, them: tuple[Undecided, ...]) -> list[list[Any]]:
    """These wait from now on: as the instrument's row keeps them."""
    rows = course.undecided_rows(them)
    ground.after = replace(ground.facts, defects_kept=rows)
    return rows


def _and(before: tuple[Decided, ...], one: Decided) -> list[list[Any]]:
    """These decisions and one more: as the instrument's row keeps them."""
    return [course.decided_row(it) for it in (*before, one)]


def _placed_mm(kept: str | None) -> Decimal | None:
    return None if kept is None else Decimal(kept).quantize(PLACED_MM)


def unsigned(second: str) -> tuple[Finding, ...]:
    """Why a badge beside whoever decides does not decide with them; "" is nobody's."""
    badge = badges.active(second)
    if badge is None or holds(badge, "defect.second"):
        return ()
    words = f"{badge.code} decides about no defects."
    return (stop("second", words, "Have an inspector or the lead sign beside you."),)


def _second(act: Act) -> str:
    """The badge that decides with whoever does; one that still learns decides nothing."""
    signer = act.asking.signer
    return signer.code if signer else ""
