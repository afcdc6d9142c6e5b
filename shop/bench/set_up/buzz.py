"""Buzz: which note reaches which fret, and what it would be with a thing changed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.bench.set_up import measured, standing, topics
from shop.bench.set_up.typed import Sent, Typed, Usual
from shop.craft.lengths import MM_PER_INCH
from shop.craft.set_up import heights, slot_depth
from shop.craft.set_up.aims import aims
from shop.craft.set_up.buzz import Board, BuzzMap, Note, Playing, Verdict, buzz
from shop.craft.set_up.figures import figure
from shop.craft.set_up.scale import fret_place
from shop.floor.board import State
from shop.people.gate import BadgeRequest, needs

PLAYINGS: Final = (Playing.NORMAL, Playing.HARD)
# A tap changes so much of: the action of both sides, the relief, one fret.
STEPS: Final[dict[str, Decimal]] = {
    "action": Decimal("0.1"),
    "relief": Decimal("0.05"),
    "off": Decimal("0.02"),
}
STEPPED: Final = (
    ("action", "Action, every string", "Lower", "Higher"),
    ("relief", "Relief", "Less", "More"),
    ("off", "The fret named below", "Lower", "Higher"),
)
# What a guitar can have; common practice, no source.
ACTION: Final = (Decimal("0.5"), Decimal(6))
RELIEF: Final = (Decimal("-0.5"), Decimal(1))
OFF: Final = (Decimal("-0.5"), Decimal("0.5"))
OVER_1: Final = (Decimal(0), Decimal(2))
NO_FRET: Final = Usual(Decimal(0), "no fret out of line")


@dataclass(frozen=True, slots=True)
class Fields:
    """The form of the page; a string's clearance over fret 1 stands under its name."""

    action: Mapping[str, Typed]
    relief: Typed
    fret: int
    off: Typed
    playing: str

    @property
    def every(self) -> tuple[Typed, ...]:
        return (*self.action.values(), self.relief, self.off)


@dataclass(frozen=True, slots=True)
class Cell:
    """One note as it stands in the table."""

    said: str
    verdict: str
    over: int


@dataclass(frozen=True, slots=True)
class Row:
    """A fret with its notes, the thick string first; ``moved`` if it is the one tried."""

    fret: int
    cells: tuple[Cell, ...]
    moved: bool


@dataclass(frozen=True, slots=True)
class Stepper:
    """A thing that two buttons change."""

    key: str
    words: str
    less: str
    more: str
    typed: tuple[Typed, ...]


@never_cache
@require_safe
@needs("tag.scan")
def buzz_map(request: BadgeRequest, code: str) -> HttpResponse:
    """The map of every note; whatever is typed or stepped is tried out."""
    now = topics.ground(request, code)
    sent = Sent(request)
    frets = aims(now.sheet.spec).frets
    fields = _fields(now, sent, frets)
    shown = topics.page(request, code, now, "buzz") | {
        "fields": fields,
        "sent": sent,
        "playings": PLAYINGS,
        "frets": range(1, frets + 1),
        "steppers": tuple(_steppers(fields)),
        "no_fret": not fields.fret and bool(fields.off.value),
        "facts": measured.facts(now, "action", "relief", "first_fret"),
        "measure": measured.asked_here(request, now, "action", "relief", "first_fret"),
    }
    if not sent.wrong:
        shown |= _answer(now, fields, frets, inch=request.user.units == "inch")
    return render(request, "bench/set_up/buzz.html", shown)


def _fields(now: State, sent: Sent, frets: int) -> Fields:
    step, by = _stepped(sent)
    at = sent.text("fret")
    fret = int(at) if at.isascii() and at.isdigit() and 1 <= int(at) <= frets else 0

    def length(name: str, words: str, usual: Usual, ends: tuple[Decimal, Decimal]) -> Typed:
        by_mm = by if name.split()[0] == step else None
        return sent.length(name, words, usual, *ends, by_mm=by_mm)

    return Fields(
        action={
            side: length(f"action {side}", words, standing.action(now, side), ACTION)
            for side, words in (
                ("bass", "Thick string over fret 12"), ("treble", "Thin string over fret 12"),
            )
        },
        relief=length("relief", "Relief", standing.relief(now), RELIEF),
        fret=fret,
        off=length("off", "That fret higher than the others by", NO_FRET, OFF),
        playing=sent.one_of("playing", tuple(one.value for one in PLAYINGS)),
    )  # fmt: skip


def _stepped(sent: Sent) -> tuple[str, Decimal]:
    """Which button was tapped, and by how much it changes its figure."""
    key, _, way = sent.text("step").partition(" ")
    if key not in STEPS or way not in ("less", "more"):
        return "", Decimal(0)
    return key, STEPS[key] if way == "more" else -STEPS[key]


def _steppers(fields: Fields) -> Iterator[Stepper]:
    typed = {
        "action": tuple(fields.action.values()),
        "relief": (fields.relief,),
        "off": (fields.off,),
    }
    for key, words, less, more in STEPPED:
        yield Stepper(key, words, less, more, typed[key])


def _answer(now: State, fields: Fields, frets: int, *, inch: bool) -> dict[str, Any]:
    found = buzz(_board(now, fields, frets))
    first = found.offenders[0] if found.offenders else found.closest
    return {
        "map": found,
        "first": first,
        "arithmetic": found.arithmetic(first),
        "rows": tuple(_rows(found, fields.fret, inch=inch)),
        "map_unit": "inch" if inch else "mm",
    }


def _board(now: State, fields: Fields, frets: int) -> Board:
    """The board as it stands, with what was typed in its place. The slots of the nut stay
    where they are, whatever is tried of action and relief."""
    names = standing.singles(now)
    off = [0.0] * frets
    if fields.fret:
        off[fields.fret - 1] = fields.off.number
    bass, treble = (fields.action[side].number for side in ("bass", "treble"))
    return Board(
        scale_mm=float(now.sheet.spec.scale_mm),
        action_mm=tuple(_across(bass, treble, len(names))),
        floor_mm=tuple(_floors(now, fields, names)),
        amplitude_mm=Playing(fields.playing).amplitudes(len(names)),
        relief_mm=fields.relief.number,
        fret_off_mm=tuple(off),
        joint_fret=now.sheet.spec.body_joint_fret,
    )


def _floors(now: State, fields: Fields, names: tuple[str, ...]) -> Iterator[float]:
    """The floor of each slot over the fret plane, from what was read, or from where slots
    are cut to begin with."""
    spec = now.sheet.spec
    scale = float(spec.scale_mm)
    x1, x12, joint = (fret_place(scale, one) for one in (1, 12, spec.body_joint_fret))
    sag = heights.sag(float(fields.relief.usual.value or 0), x12, x1, joint)
    bass, treble = (float(fields.action[side].usual.value or 0) for side in ("bass", "treble"))
    for name, action in zip(names, _across(bass, treble, len(names)), strict=True):
        read = standing.first_fret(now, name).value
        over_1 = float(standing.first_fret_wanted(now, name) if read is None else read)
        saddle = heights.saddle_by_readings(over_1, action, sag, x1, x12, scale)
        yield slot_depth.slot_floor(over_1, saddle, x1, scale)


def _across(bass: float, treble: float, strings: int) -> Iterator[float]:
    """From the thick string to the thin one in even steps."""
    for at in range(strings):
        yield bass + (treble - bass) * at / max(1, strings - 1)


def _rows(found: BuzzMap, moved: int, *, inch: bool) -> Iterator[Row]:
    for fret in range(found.board.frets):
        cells = tuple(_cell(row[fret], inch=inch) for row in found.notes)
        yield Row(fret, cells, moved=0 < moved == fret)


def _cell(one: Note, *, inch: bool) -> Cell:
    """What is left in hundredths of a millimetre or thousandths of an inch; of a note that
    lies on a fret or passes the next one by little, what it passes it by at rest."""
    left = one.margin_mm if one.verdict in (Verdict.CLEAR, Verdict.BUZZ) else one.next_mm
    scaled = left / float(MM_PER_INCH) * 1000 if inch else left * 100
    return Cell(figure(scaled, 0), one.verdict.value, one.over)
