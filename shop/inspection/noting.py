"""A defect noted by taps: which word, where on the drawing, how bad; a photo if one likes.

Each answer stands in the address, so that a step back takes it back and all works without
script: a tap on the drawing is a form of its own, sent by the picture's button. Only the last
tap records.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache
from typing import Any, Final, Literal
from urllib.parse import urlencode

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone, translation
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from shop.craft.finding import Finding, warn
from shop.craft.hardware import SpecFacts
from shop.craft.inspecting import body_map
from shop.craft.inspecting.alike import Alike, Spot, alike
from shop.craft.inspecting.body_map import Place, View
from shop.craft.inspecting.classes import DefectClass
from shop.craft.inspecting.defects import MEANINGS, Key, Meaning, find
from shop.craft.inspecting.usual import first_view, usual
from shop.craft.rework import WORDS, family_words
from shop.craft.when import when_words
from shop.craft.zones import PLACES
from shop.floor import board, photos
from shop.floor.board import Asking, DefectRow, State
from shop.floor.door import Act, DefectNoted, record
from shop.inspection.found import area_of, ground, page, seen, small_of
from shop.people.gate import BadgeRequest, needs
from shop.people.languages import OF_THE_RECORD, say

Asks = Literal["word", "place", "record"]

NOWHERE: Final = "0"  # the word says it all, or it is all over
PAPERS: Final = "16"  # the one zone of a paper
FURTHEST: Final = 2000  # mm: no place on a guitar is further from its bridge or nut
DRAWN_PX: Final = (288, 328, 358)
"""How wide the drawing is on a phone of 320, of 360 and of 390 and more: each a button of the
form, of which one is shown, so that a tap without script says on which width it fell."""
VIEW_WORDS: Final[dict[str, str]] = {
    "front": "Front",
    "back": "Back",
    "bass side": "Bass side",
    "treble side": "Treble side",
    "head front": "Head, front",
    "head back": "Head, back",
    "inside": "Inside",
    "case": "Case",
    "paper": "Papers",
}
"""The drawings in few words, in the order one turns an instrument."""
CHOOSE_PLACE: Final = "Tap on the drawing, or choose the zone below it."
LONGEST: Final = 60  # letters that are searched for


@dataclass(frozen=True, slots=True)
class Note:
    """How far a defect is told. ``area`` is that of the checklist one came from, 0 for none;
    ``zone`` "" while that is not told."""

    area: int = 0
    family: str = ""
    word: str = ""
    view: str = ""
    zone: str = ""
    at: tuple[int, int] | None = None

    @classmethod
    def of(cls, sent: Mapping[str, str]) -> Note:
        """What was told as the address carries it; what it cannot mean is left out."""
        area = area_of(sent.get("area", ""))
        family, word = sent.get("family", ""), sent.get("word", "")
        if family not in WORDS:
            return cls(area)
        if word not in WORDS[family]:
            return cls(area, family)
        view, zone = sent.get("view", ""), sent.get("zone", "")
        told = cls(area, family, word, view if view in body_map.VIEWS else "")
        if zone != NOWHERE and zone not in map(str, PLACES):
            return told
        if zone == NOWHERE or not told.view or int(zone) not in body_map.SHOWN[told.view]:
            return replace(told, view="", zone=zone)
        x, y = _whole(sent.get("x", "")), _whole(sent.get("y", ""))
        return replace(told, zone=zone, at=None if x is None or y is None else (x, y))

    @property
    def told(self) -> dict[str, str]:
        """What is told, by the names an address has for it."""
        x, y = self.at or ("", "")
        every = {
            "area": str(self.area or ""),
            "family": self.family,
            "word": self.word,
            "view": self.view,
            "zone": self.zone,
            "x": str(x),
            "y": str(y),
        }
        return {name: one for name, one in every.items() if one}

    @property
    def query(self) -> str:
        return urlencode(self.told)

    @property
    def back(self) -> str:
        """The address of the question before."""
        if self.zone and self.family != "paper":
            return replace(self, zone="", at=None).query
        return Note(self.area, self.family if self.word else "").query

    @property
    def asks(self) -> Asks:
        if not self.word:
            return "word"
        return "record" if self.zone else "place"

    @property
    def meaning(self) -> Meaning | None:
        return MEANINGS.get((self.family, self.word))

    @property
    def drawing(self) -> str:
        """The key of the drawing on which it is tapped now."""
        return self.view or first_view(self.area, self.family)

    @property
    def place(self) -> Place | None:
        if not self.view or not self.zone:
            return None
        x, y = self.at or (None, None)
        return Place(self.view, int(self.zone), x, y)

    @property
    def place_words(self) -> str:
        if self.place:
            return self.place.words
        return PLACES.get(int(self.zone or NOWHERE), "")

    @property
    def spot(self) -> Spot:
        """The same as it may be one that was noted before."""
        x, y = self.at or (None, None)
        return Spot(self.family, self.word, int(self.zone or NOWHERE), self.view, x, y)

    def with_word(self, one: Meaning) -> str:
        """The address once this word is chosen. A paper is at no place but its own."""
        zone = PAPERS if one.family == "paper" else ""
        return replace(self, family=one.family, word=one.word, view="", zone=zone, at=None).query

    def tapped(self, place: Place) -> Note:
        at = (
            None if place.x_mm is None or place.y_mm is None else (int(place.x_mm), int(place.y_mm))
        )
        return replace(self, view=place.view, zone=str(place.zone), at=at)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("defect.note")
def note(request: BadgeRequest, code: str) -> HttpResponse:
    """One question after another by taps, then one button."""
    now, at = ground(code), timezone.localtime()
    asking = board.asking(request, at)
    here = reverse("inspection:note", args=[code])
    sent = request.POST if request.method == "POST" else request.GET
    noted = Note.of(sent)
    shown = page(code, now, asking, here) | {"note": noted, "asks": noted.asks}
    if request.method == "POST":
        return _record(request, code, now, noted, shown)
    if noted.asks == "word":
        return render(request, "inspection/note.html", shown | _words(noted, asking, sent))
    if noted.asks == "record":
        more = _recording(now, noted, asking) | {"found_at": found_at(now, asking)}
        return render(request, "inspection/note.html", shown | more)
    view = body_map.draw(now.sheet.spec, noted.drawing)
    if (tap := tap_of(view, sent)) is not None:
        place = body_map.from_fraction(view, *tap)
        if place is not None:
            return redirect(f"{here}?{noted.tapped(place).query}")
    return render(request, "inspection/note.html", shown | _places(noted, view, missed=bool(tap)))


def tap_of(view: View, sent: Mapping[str, str]) -> tuple[float, float] | None:
    """Where on the drawing a tap fell, as parts of its width and height; none where the form
    was not sent by a tap."""
    for wide in DRAWN_PX:
        x, y = _whole(sent.get(f"t{wide}.x", "")), _whole(sent.get(f"t{wide}.y", ""))
        if x is not None and y is not None:
            return x / wide, y / (wide * view.size_mm[1] / view.size_mm[0])
    return None


def found_at(now: State, asking: Asking) -> str:
    """The operation in whose course it is found: where a look is taken that look, also once it
    is recorded; elsewhere what is open or comes next at this station; "" where none is, and the
    station itself says it all."""
    begun = [now.open.operation] if now.open else []
    here = [code for code in (*begun, *now.next_codes) if _at(now, code) == asking.station]
    looks = [code for code in board.looks_of(now) if _at(now, code) == asking.station]
    if looks:
        return next((code for code in here if code in looks), looks[-1])
    return next(iter(here), "")


def _at(now: State, code: str) -> str:
    """The station of an operation; "" where its route has none such."""
    stop = now.sheet.stop(code)
    return stop.station_code if stop else ""


@cache
def texts(language: str) -> dict[Key, tuple[str, str, str]]:
    """What a language says for each meaning: word, family and line."""
    with translation.override(language):
        return {
            key: (say(one.word), say(family_words(one.family)), say(one.line))
            for key, one in MEANINGS.items()
        }


def searched(words: str) -> tuple[Meaning, ...]:
    """The meanings that words find, in English and in the language of whoever reads."""
    language = translation.get_language() or OF_THE_RECORD
    return find(words, None if language == OF_THE_RECORD else texts(language))


def _words(noted: Note, asking: Asking, sent: Mapping[str, str]) -> dict[str, Any]:
    """What the page shows that asks for the word: the usual six, or one family's, or what was
    searched for."""
    sought = sent.get("q", "").strip()[:LONGEST]
    found: Sequence[Meaning] = ()
    if sought:
        found = searched(sought)
    elif noted.family:
        found = [MEANINGS[noted.family, word] for word in WORDS[noted.family]]
    else:
        found = usual(noted.area, asking.station)
    return {
        "sought": sought,
        "family_words": family_words(noted.family) if noted.family and not sought else "",
        "words": [(one, family_words(one.family), noted.with_word(one)) for one in found],
        "families": [
            (family_words(one), replace(noted, family=one).query, ", ".join(WORDS[one][:3]))
            for one in WORDS
        ],
    }


def _places(noted: Note, view: View, *, missed: bool) -> dict[str, Any]:
    """What the page shows that asks where it is."""
    told: tuple[Finding, ...] = ()
    if missed:
        words = "That tap fell beside the instrument."
        told = (warn("place", words, CHOOSE_PLACE),)
    return {
        "view": view,
        "views": [
            (words, replace(noted, view=key).query, key == view.key)
            for key, words in VIEW_WORDS.items()
        ],
        "told": told,
        "widths": DRAWN_PX,
        "carried": replace(noted, view=view.key).told,
        "zones": [
            (one.number, one.name, replace(noted, view=view.key, zone=str(one.number)).query)
            for one in sorted(view.zones, key=lambda it: it.number)
        ],
        "nowhere": replace(noted, view="", zone=NOWHERE).query,
    }


def _recording(now: State, noted: Note, asking: Asking) -> dict[str, Any]:
    """What the last page shows, with the button that records."""
    meaning = noted.meaning
    assert meaning is not None  # a word that is told is one of the list
    rows, _ = seen(now, asking)
    return {
        "meaning": meaning,
        "place": noted.place_words,
        "small": small_of(now.sheet.spec, int(noted.zone or NOWHERE), noted.place),
        "classes": [(one, one.value, one.examples) for one in DefectClass],
        "grade": meaning.usual_class,
        "alike": alike_of(now.sheet.spec, noted.spot, rows, asking),
        "told": (),
    }


def alike_of(
    spec: SpecFacts, spot: Spot, rows: Sequence[DefectRow], asking: Asking
) -> tuple[Alike, ...]:
    """The defects not made good yet that this one may be again."""
    nut = body_map.draw(spec, "front").zone(1)
    open_ones = [
        Spot(
            one.family,
            one.word,
            one.zone,
            one.view,
            one.x_mm,
            one.y_mm,
            one.number,
            one.found_by,
            when_words(one.at, asking.at),
        )
        for one in rows
        if one.undecided or one.standing == "in rework"
    ]
    return alike(spot, open_ones, -nut.reference.origin[1] if nut else None)


def _record(
    request: BadgeRequest, code: str, now: State, noted: Note, shown: dict[str, Any]
) -> HttpResponse:
    asking = board.asking(request, timezone.localtime())
    meaning = noted.meaning
    if meaning is None or not noted.zone:
        more = _unsaid(now, noted, asking)
        return render(request, "inspection/note.html", shown | more, status=422)
    picture: photos.Picture | None = None
    told: tuple[Finding, ...] = ()
    try:
        picture = _sent(request)
    except photos.Unreadable as why:
        told = (warn("photo", str(why), "What you told is kept."),)
    words = request.POST.get("words", "").strip()
    grade = _whole(request.POST.get("class", "")) or 0
    if not told:
        act = Act.of(request, timezone.localtime())
        x, y = noted.at or (None, None)
        deed = DefectNoted(
            instrument_id=now.id,
            family=noted.family,
            word=noted.word,
            grade=grade,
            zone=int(noted.zone),
            view=noted.view,
            x_mm=None if x is None else Decimal(x),
            y_mm=None if y is None else Decimal(y),
            words=words,
            found_at=request.POST.get("found_at", ""),
            picture=picture,
        )
        outcome = record(act, deed)
        if outcome.done:
            area = f"&area={noted.area}" if noted.area else ""
            return redirect(f"{reverse('inspection:defects', args=[code])}?after={act.key}{area}")
        told = outcome.findings
        if picture is not None:
            again = warn("photo", "The photo that came with it is not kept.", "Take it again.")
            told = (*told, again)
    more = _recording(now, noted, asking) | {
        "told": told,
        "grade": grade or meaning.usual_class,
        "words": words,
        "found_at": request.POST.get("found_at", ""),
    }
    return render(request, "inspection/note.html", shown | more, status=422)


def _unsaid(now: State, noted: Note, asking: Asking) -> dict[str, Any]:
    """What the page shows where the form came without a word, or without a place."""
    if noted.meaning is None:
        told = warn(
            "defect", "What is wrong with it, is not told yet.", "Choose a word of the list."
        )
        return _words(noted, asking, {}) | {"told": (told,)}
    view = body_map.draw(now.sheet.spec, noted.drawing)
    told = warn("place", "Where it is, is not told yet.", CHOOSE_PLACE)
    return _places(noted, view, missed=False) | {"told": (told,)}


def _sent(request: BadgeRequest) -> photos.Picture | None:
    sent = request.FILES.get("photo")
    # One byte more than allowed is enough to know that it is too big.
    return photos.prepared(sent.read(photos.MAX_BYTES + 1)) if sent else None


def _whole(text: str) -> int | None:
    """A whole number of an address, no further than a guitar is long; none for what is not."""
    bare = text.removeprefix("-")
    if not (bare.isascii() and bare.isdecimal() and len(bare) <= len(str(FURTHEST))):
        return None
    number = int(text)
    return number if abs(number) <= FURTHEST else None
