"""The hold rack as it stands: a drawing of its slots, what is due when, and the days ahead."""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby
from typing import Any, Final
from urllib.parse import urlencode

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.craft.rack import Inspectors
from shop.craft.spreadsheet import cells
from shop.craft.when import in_utc, when_words
from shop.floor import board
from shop.floor.board import Case, Rack
from shop.inspection.rack_chart import MONDAY, week
from shop.people.gate import BadgeRequest, fresh, may, needs

# How a slot can stand, what wants somebody first.
STANDS: Final = ("overdue", "due", "paused", "again", "holding", "looked", "free")
LOOSE: Final = "loose"  # asked for: those in no slot
TEN: Final = 10  # slots in a row of the drawing
USUAL: Final = Inspectors()
MOST_PEOPLE: Final = 20
MOST_CASINGS: Final = 999
DAY_MIN: Final = 1440


@dataclass(frozen=True, slots=True)
class Tile:
    """A slot as it is drawn, or a case in none (``slot`` is then empty). ``tag`` is that of the
    instrument, ``ready`` when its days are over, in words, ``early``: that they are not yet."""

    slot: str
    stands: str
    case: Case | None = None
    tag: str = ""
    ready: str = ""
    early: bool = False

    @property
    def last_four(self) -> str:
        return self.case.serial[-4:] if self.case else ""

    @property
    def due_on(self) -> date | None:
        """When it is to be looked at again, where it was not yet."""
        return self.case.due_on if self.case and self.stands != "looked" else None

    @property
    def why(self) -> tuple[str, ...]:
        """What keeps its days from running, then what moved them."""
        if self.case is None:
            return ()
        return (*((self.case.halted,) if self.case.halted else ()), *self.case.because)


@dataclass(frozen=True, slots=True)
class Ten:
    """A row of the drawing: ten slots by their numbers, less those retired or not asked for."""

    row: int
    tiles: tuple[Tile, ...]

    @property
    def first(self) -> str:
        return f"H-{self.row * TEN + 1:03}"

    @property
    def last(self) -> str:
        return f"H-{self.row * TEN + TEN:03}"


@dataclass(frozen=True, slots=True)
class Way:
    """A tap that narrows the rack: what to, how many there are, and whether it is chosen."""

    name: str
    many: int
    query: str
    chosen: bool


class LookersForm(forms.Form):
    """Who looks again in the days ahead."""

    people = forms.IntegerField(
        label=_("Inspectors each working day"),
        min_value=0,
        max_value=MOST_PEOPLE,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
        error_messages=dict.fromkeys(
            ("required", "invalid", "min_value", "max_value"),
            _("Write a whole number of people, 0 to 20."),
        ),
    )
    minutes = forms.IntegerField(
        label=_("Minutes that each has in a day"),
        min_value=0,
        max_value=DAY_MIN,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
        error_messages=dict.fromkeys(
            ("required", "invalid", "min_value", "max_value"),
            _("Write whole minutes, 0 to 1440."),
        ),
    )
    look = forms.IntegerField(
        label=_("Minutes that a second look takes"),
        min_value=1,
        max_value=DAY_MIN,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
        error_messages=dict.fromkeys(
            ("required", "invalid", "min_value", "max_value"),
            _("Write whole minutes, 1 to 1440."),
        ),
    )

    casings = forms.IntegerField(
        label=_("Cases that go in each working day, empty: as of late"),
        min_value=0,
        max_value=MOST_CASINGS,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
        error_messages=dict.fromkeys(
            ("invalid", "min_value", "max_value"),
            _("Write a whole number of cases, 0 to 999, or leave it empty."),
        ),
    )

    @classmethod
    def asked(cls, request: HttpRequest) -> LookersForm:
        """As the address says it; whatever it does not say is as usual."""
        usual: dict[str, Any] = {
            "people": USUAL.people,
            "minutes": USUAL.net_min,
            "look": USUAL.each_min,
            "casings": "",
        }
        return cls({name: request.GET.get(name, value) for name, value in usual.items()})

    @property
    def inspectors(self) -> Inspectors:
        """Those that were typed; the usual where that cannot be."""
        if not self.is_valid():
            return USUAL
        said = self.cleaned_data
        return Inspectors(said["people"], said["minutes"], said["look"])

    @property
    def planned(self) -> int | None:
        """Casings a working day that were typed; nothing where they are as of late."""
        return self.cleaned_data["casings"] if self.is_valid() else None

    @property
    def query(self) -> dict[str, str]:
        """What was typed, as an address keeps it; nothing where it is as usual."""
        usual = self.inspectors == USUAL and self.is_valid() and self.planned is None
        typed = {name: str(self.data[name]) for name in self.fields}
        return {} if usual else {name: one for name, one in typed.items() if one}


@never_cache
@require_safe
@needs("floor.see")
def rack(request: BadgeRequest) -> HttpResponse:
    """The rack as a drawing, narrowed by a tap; below it the week ahead."""
    at = timezone.localtime()
    mark = board.mark(at)

    def draw(tag: str) -> HttpResponse:
        now, form = board.hold_rack(at), LookersForm.asked(request)
        tiles, only = _tiles(now, at), _only(request)
        found = [one for one in tiles if _is(one, only)]
        ahead = board.rack_forecast(now, at, form.inspectors, a_day=form.planned)
        shown: dict[str, Any] = {
            "only": only,
            "on": parse_date(only) if only not in {*STANDS, LOOSE} else None,
            "choices": _ways(tiles, only, form.query),
            "all": urlencode(form.query),
            "tens": _tens(found),
            "loose": [one for one in found if not one.slot],
            "rows": found,
            "slots": len(now.slots),
            "cases": len(now.cases),
            "days": _days(now, only, form.query),
            "lump": now.lump,
            "monday": now.lump is not None and now.lump.on.weekday() == MONDAY,
            "casings": now.casings.words,
            "planned": form.planned,
            "ahead": ahead,
            "week": week(ahead.days, ahead.slots),
            "form": form,
            "lookers": form.inspectors,
            "may_keep": may(request.user, "rack.keep"),
            "at": at,
            "fresh": tag,
        }
        return render(request, "inspection/rack.html", shown)

    return fresh(request, mark, draw)


@never_cache
@require_safe
@needs("floor.see")
def rack_csv(request: BadgeRequest) -> HttpResponse:
    """The slots and cases of the page it was asked from."""
    at, only = timezone.localtime(), _only(request)
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="rack.csv"'
    sheet = csv.writer(response)
    sheet.writerow(["slot", "stands", "serial", "spec", "cased", "ready", "due", "why"])
    for one in _tiles(board.hold_rack(at), at):
        if not _is(one, only):
            continue
        case = one.case
        sheet.writerow(
            cells(
                one.slot, one.stands, case.serial if case else "", case.spec if case else "",
                _moment(case.cased_at if case else None), _moment(case.ready if case else None),
                one.due_on or "", " ".join(one.why),
            )
        )  # fmt: skip
    return response


def _moment(moment: datetime | None) -> str:
    return timezone.localtime(moment).isoformat(timespec="minutes") if moment else ""


# --- what is shown of it ---


def tile(slot: str, case: Case | None, tag: str, at: datetime) -> Tile:
    """One slot, or one case, at a moment of the shop's clock."""
    if case is None:
        return Tile(slot, "free")
    if case.ready is None:
        return Tile(slot, case.stands, case, tag)
    early = in_utc(case.ready) > in_utc(at)
    return Tile(slot, case.stands, case, tag, when_words(case.ready, at), early)


def _tiles(now: Rack, at: datetime) -> list[Tile]:
    """Every slot in use, then every case in none."""
    tags = board.tags_of([one.serial for one in now.cases])
    placed: list[tuple[str, Case | None]] = [(row.code, row.case) for row in now.slots]
    placed += [("", case) for case in now.loose]
    return [
        tile(slot, case, tags[case.serial].get("body", "") if case else "", at)
        for slot, case in placed
    ]


def _only(request: HttpRequest) -> str:
    """What the rack is narrowed to: how a slot stands, those in none, or the day on which they
    are due. "" for all of it, and for what we do not know."""
    asked = request.GET.get("only", "")
    if asked in {*STANDS, LOOSE}:
        return asked
    try:
        day = parse_date(asked)
    except ValueError:  # 31 February
        return ""
    return day.isoformat() if day else ""


def _is(one: Tile, only: str) -> bool:
    if not only:
        return True
    if only == LOOSE:
        return not one.slot
    return one.stands == only or (one.due_on is not None and one.due_on.isoformat() == only)


def _ways(tiles: Sequence[Tile], only: str, query: dict[str, str]) -> list[Way]:
    """How many stand how, each a tap that leaves these alone."""
    many = Counter(one.stands for one in tiles)
    many[LOOSE] = sum(not one.slot for one in tiles)
    return [
        _way(name, many[name], only, query)
        for name in (*STANDS, LOOSE)
        if many[name] or name in {"due", only}
    ]


def _days(now: Rack, only: str, query: dict[str, str]) -> list[tuple[date, Way]]:
    """What is due on each of the days ahead, each a tap."""
    return [(day.on, _way(day.on.isoformat(), len(day.serials), only, query)) for day in now.due]


def _way(name: str, many: int, only: str, query: dict[str, str]) -> Way:
    return Way(name, many, urlencode({"only": name} | query), name == only)


def _tens(tiles: Sequence[Tile]) -> list[Ten]:
    in_slots = [one for one in tiles if one.slot]
    return [Ten(row, tuple(them)) for row, them in groupby(in_slots, key=_row_of)]


def _row_of(one: Tile) -> int:
    """Ten to a row by their numbers: H-001 to H-010, H-011 to H-020."""
    return (int(one.slot.partition("-")[2]) - 1) // TEN
