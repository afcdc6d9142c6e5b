"""The page of an instrument as a phone carries it along, for where the network does not reach.

It is the same for whoever holds the phone: it names nobody, offers nothing by anybody's rights,
and has no key in its forms. What is entered on it waits on the phone; every gate is asked when
it is sent.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any, Final
from urllib.parse import quote

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone, translation
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from shop.bench import drawings, in_hand
from shop.bench.defects import DEPTHS, NOWHERE
from shop.bench.gauging import Block, Field
from shop.bench.offers import WHY_ON
from shop.bench.views import ground
from shop.catalogue import book
from shop.catalogue.book import StopSheet
from shop.craft import gauging, zones
from shop.craft.code import pretty
from shop.craft.finding import Finding, any_stop
from shop.craft.rework import WORDS, LoopFacts, family_words, suggested
from shop.craft.route import Done
from shop.craft.start import Asking, Person, may_start
from shop.craft.when import when_words
from shop.craft.words import mm
from shop.floor import board
from shop.floor.board import State, Work
from shop.people import badges
from shop.people.gate import BadgeRequest, needs

# Operations shown one after another; common practice, no source.
AHEAD: Final = 6
UNITS: Final = ("mm", "both", "inch")
CALLS: Final = (
    ("clerk", "A part is missing or wrong."),
    ("lead", "It cannot go on."),
)
# Who agreed to something stands first in its words.
BADGE: Final = re.compile(r"[A-Z]+-\d+")


@dataclass(frozen=True, slots=True)
class Turn:
    """One operation at this station, as far as it can be foreseen. ``tray``: its tray is to be
    scanned first; ``neck``: its neck is; ``blocks``: what is measured in its course;
    ``posts``: its machines are looked at first, which takes the network; ``areas``: so are the
    areas of its checklist; ``reason``: a warning asks why it goes on."""

    stop: StopSheet
    tray: bool
    neck: bool
    posts: bool
    areas: bool
    reason: bool
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Defect:
    """A word for a defect, with the keys of the loops that it usually leads to."""

    word: str
    loops: str


@require_safe
@needs("tag.scan")
def carried(request: BadgeRequest, code: str) -> HttpResponse:
    """The instrument as it stands now at the phone's station, to be looked at later."""
    now = _aired(code)
    asked = request.GET.get("units", "")
    units = asked if asked in UNITS else "mm"
    with translation.override(_language(request)):
        station: str = request.session.get("station", "")
        shown = _page(code, now, station, units, timezone.localtime())
        response = render(request, "bench/carried.html", shown)
        response["Content-Language"] = translation.get_language()
    response["X-Offline"] = "shared"
    response["X-Carried"] = quote(json.dumps(_told(now, shown["work"], shown["at"])))
    # Asked again each time there is a network (RFC 9111, 5.2.2.4), kept by nobody else (5.2.2.7).
    response["Cache-Control"] = "no-cache,private"
    return response


def _told(now: State, work: Work, at: datetime) -> dict[str, str]:
    """What a list of the carried pages says of this one."""
    return {
        "serial": now.serial,
        "spec": now.sheet.spec.key,
        "operation": work.stop.code if work.stop else "",
        "name": work.stop.facts.name if work.stop else "",
        "made": at.isoformat(timespec="seconds"),
    }


def _language(request: HttpRequest) -> str:
    asked = request.GET.get("language", "")
    return asked if asked in dict(settings.LANGUAGES) else translation.get_language() or "en"


def _aired(code: str) -> State:
    """The instrument with its room and its deviations, read once for all that is foreseen."""
    serial = ground(code).serial
    found = board.by_serials([serial]).get(serial)
    if found is None:
        raise Http404
    return found


def _page(code: str, now: State, station: str, units: str, at: datetime) -> dict[str, Any]:
    asking = Asking(_anyone(), station, at)
    free = board.loop_untold(_unheld(now), asking)
    work = board.work(free, asking)
    nobody = _nobody(now)
    loops = book.loops()
    defects = _defects(loops)
    blocked = work.blocked or not work.here
    turns = () if blocked else tuple(_turns(free, work, asking))
    scanning = next((one for one in turns if one.tray or one.neck), None)
    neck = board.tags_of([now.serial])[now.serial].get("neck", "")
    begun = now.open if now.open and not now.open.parked else None
    return {
        # Whose phone it is and how they like their screens is nobody's here.
        **dict.fromkeys(("badge_code", "thumb", "text_size", "beside", "csrf_token"), ""),
        "nobody": True,
        "units": units,
        "unit": "in" if units == "inch" else "mm",
        "code": code,
        "here": f"/{code}",
        "now": now,
        "spec": now.sheet.spec,
        "at": at,
        "work": work,
        "reasons": [_unnamed(one, nobody) for one in work.reasons],
        "begun": when_words(begun.since, at) if begun else "",
        "departures": [replace(one, approved=nobody(one.approved)) for one in now.departures],
        "turns": turns,
        "hand": in_hand.nobodys(),
        "why": WHY_ON,
        "tray": now.tray_code,
        "tray_printed": pretty(now.tray_code),
        "neck": neck,
        "neck_printed": pretty(neck) if neck else "",
        "progress": drawings.progress(now, work),
        "kit": mark_safe(_texts(drawings.kit(now, units), nobody)),
        "defects": [(one, family_words(one), rows) for one, rows in defects],
        "loops": loops,
        "depths": [(str(one), mm(one)) for one in DEPTHS],
        "places": zones.ZONES,
        "nowhere": NOWHERE,
        "calls": CALLS,
        "scanning": scanning,
        "wants": _wants(scanning) if scanning else "",
        "made": when_words(at, at),
    }


def _wants(turn: Turn) -> str:
    return "Scan the tray's label" if turn.tray else "Scan the tag on the neck"


def _anyone() -> Person:
    """Somebody who is signed off everywhere: who it really is, is asked when it is sent. They
    could take any second look, so that the page tells nobody what a first one found."""
    return Person("", {station: date.max for station, _name in book.stations()})


def _unheld(now: State) -> State:
    """The instrument as if what is begun were in hand of whoever asks: they may go on with it."""
    one = now.open
    if one is None or one.parked:
        return now
    return replace(now, open_step_kept=board.open_step_row(replace(one, by="")))


def _turns(now: State, work: Work, asking: Asking) -> Iterator[Turn]:
    """What can be done at this station, one after another, each as if the one before it were
    done: until something else comes first, or a clock runs."""
    stop, looks = work.stop, work
    checked = now.checked_version == now.tray_version and now.checked_station == asking.station
    tray = work.wants_tray
    for _turn in range(AHEAD):
        if stop is None:
            return
        first = stop is work.stop
        facts = stop.facts
        tray = tray if first else facts.needs == "tray" and not checked
        posts = facts.positions and not now.placed
        areas = looks.wants_areas if first else facts.checklist
        yield Turn(
            stop=stop,
            tray=tray,
            neck=facts.needs == "neck",
            posts=posts,
            areas=areas,
            reason=first and looks.warned,
            blocks=tuple(_blocks(now, stop)),
        )
        if posts or areas:
            return
        checked = checked or tray
        now = now.with_step(Done(stop.code, asking.who.code, asking.at))
        stop = _next(now, asking)


def _next(now: State, asking: Asking) -> StopSheet | None:
    stands = now.stands(asking.at)
    coming = (now.sheet.stop(code) for code in now.next_codes)
    here = (one for one in coming if one and one.station_code == asking.station)
    return next((one for one in here if not any_stop(may_start(stands, one.code, asking))), None)


def _blocks(now: State, stop: StopSheet) -> Iterator[Block]:
    """What the operation asks to be measured and is not yet, with its places."""
    spec = now.sheet.spec
    wanted = set(gauging.missing(spec, stop.facts.gauges, now.readings, stop.code))
    for quantity, places in gauging.asked(spec, stop.facts.gauges):
        fields = tuple(
            Field(
                name=f"{quantity.key} {place.key}",
                place=place,
                where=gauging.where(spec, quantity, place),
                open=True,
                earlier=(),
            )
            for place in places
            if (quantity.key, place.key) in wanted
        )
        if fields:
            yield Block(quantity, fields)


def _defects(loops: Sequence[LoopFacts]) -> Iterator[tuple[str, list[Defect]]]:
    """The words for defects by family, with the loops of this workshop they usually lead to."""
    known = {one.key for one in loops}
    for family, words in WORDS.items():
        keys = {word: [one for one in suggested(word, family) if one in known] for word in words}
        if rows := [Defect(word, "|".join(usual)) for word, usual in keys.items() if usual]:
            yield family, rows


# --- naming nobody ---


def _nobody(now: State) -> Callable[[str], str]:
    """Takes every badge out of a sentence about this instrument; the badges of the floor are
    read once for a whole page."""
    hands = [one.hands for one in (*now.done, *now.past, *now.repairs)]
    agreed = [words for line in now.kit for _key, words in line.approvals]
    agreed += [one.approved for one in now.departures]
    codes = {one["code"] for one in badges.on_the_floor()}.union(*hands)
    codes |= {found[0] for words in agreed if (found := BADGE.match(words))}
    codes |= {now.open.by, *now.open.helpers} if now.open else set()
    codes |= {now.frozen.by} if now.frozen else set()
    any_of = "|".join(re.escape(one) for one in sorted(codes, key=len, reverse=True) if one)
    named = re.compile(rf"(?<![\w-])(?:{any_of or '(?!)'})(?![\w-])")
    return lambda words: named.sub(_("a badge"), words)


def _unnamed(one: Finding, nobody: Callable[[str], str]) -> Finding:
    return replace(one, words=nobody(one.words), then=nobody(one.then), basis=None)


def _texts(page: str, nobody: Callable[[str], str]) -> str:
    """The same page with its texts changed and its marks left alone."""
    return re.sub(r">[^<]+", lambda text: nobody(text[0]), page)
