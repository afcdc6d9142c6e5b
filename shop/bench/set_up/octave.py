"""Intonation: each string's octave, and how far its point on the saddle moves."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.bench import pitch
from shop.bench.set_up import measured, topics
from shop.bench.set_up.typed import Sent, Typed, Usual
from shop.craft.finding import Finding
from shop.craft.fit.setting import OCTAVE_ACCEPT, OCTAVE_REWORK
from shop.craft.hardware import SpecFacts
from shop.craft.head import at_nut
from shop.craft.set_up import intonation
from shop.craft.set_up.figures import rounded, signed
from shop.craft.set_up.intonation import Heard, Intonation, StringOctave
from shop.craft.set_up.scale import TUNING_CENTS, at_cents, open_hz, open_note
from shop.floor.board import State
from shop.people.gate import BadgeRequest, needs

FAR_CENTS: Final = 100  # a half step: further off it is another note
NOTHING: Final = Usual(None, "")
IN_TUNE: Final = Usual(Decimal(0), "in tune")
UNITS: Final = ("cents", "Hz")


@dataclass(frozen=True, slots=True)
class Row:
    """One string: its note, what was heard of it open and at fret 12, and what that says."""

    string: str
    note: str
    open: Typed
    octave: Typed
    judged: StringOctave | None = None

    @property
    def known(self) -> bool:
        return self.octave.value is not None and self.open.value is not None

    @property
    def off_words(self) -> str:
        return signed(self.judged.off_cents, 1) if self.judged else ""

    @property
    def by(self) -> Decimal | None:
        return rounded(abs(self.judged.move_mm)) if self.judged else None


@never_cache
@require_safe
@needs("tag.scan")
def octave(request: BadgeRequest, code: str) -> HttpResponse:
    """What each string's octave is off by, and where its point on the saddle goes."""
    now = topics.ground(request, code)
    sent = Sent(request)
    unit = sent.one_of("as", UNITS)
    rows = tuple(_row(sent, now, string, unit) for string in at_nut(now.sheet.spec))
    heard = {one.string: _heard(one, unit) for one in rows if one.known}
    found = _judged(heard, now.sheet.spec) if heard else None
    shown = topics.page(request, code, now, "octave") | {
        "sent": sent,
        "as": unit,
        "rows": _with_judged(rows, found),
        "found": found,
        "tuning": _tuning(heard),
        "pitch": pitch.heard(at_nut(now.sheet.spec)),
        "facts": measured.facts(now, "octave_off"),
        "measure": measured.asked_here(request, now, "octave_off"),
    }
    return render(request, "bench/set_up/octave.html", shown)


def _row(sent: Sent, now: State, string: str, unit: str) -> Row:
    open_words, octave_words = f"String {string} open", f"String {string} at fret 12"
    if unit == "Hz":
        base = open_hz(string)
        return Row(
            string,
            open_note(string),
            _hertz(sent, f"open_{string}", open_words, base, Usual(rounded(base), "in tune")),
            _hertz(sent, f"octave_{string}", octave_words, 2 * base, NOTHING),
        )
    far = Decimal(FAR_CENTS)
    taken = measured.usual(now, "octave_off", string)
    return Row(
        string,
        open_note(string),
        sent.figure(f"open_{string}", open_words, unit, IN_TUNE, -far, far),
        sent.figure(f"octave_{string}", octave_words, unit, taken, -far, far),
    )


def _hertz(sent: Sent, name: str, words: str, wanted_hz: float, usual: Usual) -> Typed:
    """A frequency, no further from the one it should be than another note."""
    low, high = (rounded(at_cents(wanted_hz, one)) for one in (-FAR_CENTS, FAR_CENTS))
    return sent.figure(name, words, "Hz", usual, low, high)


def _heard(row: Row, unit: str) -> Heard:
    """In cents. A measured octave is against the open string already, whatever that was."""
    if unit == "Hz":
        opened_hz = row.open.number if row.open.typed else open_hz(row.string)
        return intonation.heard(row.string, opened_hz, row.octave.number)
    return Heard(row.open.number if row.octave.typed else 0.0, row.octave.number)


def _judged(heard: dict[str, Heard], spec: SpecFacts) -> Intonation:
    return intonation.judge(
        heard,
        float(spec.scale_mm),
        accept_cents=measured.limit(spec, OCTAVE_ACCEPT),
        rework_cents=measured.limit(spec, OCTAVE_REWORK),
    )


def _with_judged(rows: tuple[Row, ...], found: Intonation | None) -> tuple[Row, ...]:
    judged = {one.string: one for one in found.strings} if found else {}
    return tuple(
        Row(one.string, one.note, one.open, one.octave, judged.get(one.string)) for one in rows
    )


def _tuning(heard: dict[str, Heard]) -> tuple[Finding, ...]:
    """The open strings that are to be tuned before their octaves say anything."""
    return tuple(
        intonation.tuned(string, one.open_cents).told
        for string, one in heard.items()
        if abs(one.open_cents) > TUNING_CENTS
    )
