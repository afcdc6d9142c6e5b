"""The strings: how hard each pulls, and all of them against what the top bears."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.bench.set_up import measured, standing, topics
from shop.bench.set_up.typed import Group, Sent, Typed, Usual
from shop.craft.fit.strings import tension_at
from shop.craft.hardware import Strings
from shop.craft.set_up import scale
from shop.craft.set_up import strings as pulls
from shop.craft.set_up.figures import rounded
from shop.craft.set_up.strings import SetPull, Wire
from shop.floor.board import State
from shop.people.gate import BadgeRequest, needs

WEIGHTS: Final = ("g/m", "lb/in")
"""How a packet tells weights; the first is taken where nothing was chosen."""
LOWERED: Final = ("0", "1", "2", "3", "4")  # half steps below standard tuning
NOTHING: Final = Usual(None, "")
# What a string can weigh, in grams per metre and pounds per inch; common practice, no source.
PLAUSIBLE: Final = {
    "g/m": (Decimal("0.1"), Decimal(20)),
    "lb/in": (Decimal("0.000005"), Decimal("0.0011")),
}


@dataclass(frozen=True, slots=True)
class Fields:
    """The form of the page; a string's fields stand under its name."""

    scale: Typed
    diameters: Mapping[str, Typed]
    weights: Mapping[str, Typed]
    weight_unit: str
    lowered: str

    @property
    def groups(self) -> tuple[Group, ...]:
        return (
            Group("Weights off the packet", tuple(self.weights.values())),
            Group("Diameters of the strings", tuple(self.diameters.values())),
        )


@dataclass(frozen=True, slots=True)
class Row:
    """One string as it is shown; no pull where its weight is not known."""

    string: str
    note: str
    newtons: Decimal | None
    pounds: Decimal | None
    arithmetic: str


@never_cache
@require_safe
@needs("tag.scan")
def strings(request: BadgeRequest, code: str) -> HttpResponse:
    """What the strings pull at this scale and pitch; whatever is typed is tried out."""
    now = topics.ground(request, code)
    sent = Sent(request)
    fields = _fields(now, sent)
    set_ = standing.strings(now)
    shown = topics.page(request, code, now, "strings") | {
        "fields": fields,
        "sent": sent,
        "set": set_,
        "marked_n": rounded(_marked(set_, fields), 0) if set_ and not sent.wrong else None,
        "limit_n": now.sheet.spec.tension_limit_n,
        "weight_units": WEIGHTS,
        "lowerings": LOWERED,
        "caution": pulls.CAUTION,
    }
    if not sent.wrong:
        found = _pull(now, fields)
        shown |= {
            "pull": found,
            "total_n": rounded(found.total_n, 0),
            "total_lb": rounded(found.total_lb, 0),
            "rows": tuple(_rows(now, fields, found)),
        }
    return render(request, "bench/set_up/strings.html", shown)


def _fields(now: State, sent: Sent) -> Fields:
    names, told = standing.from_bass(now)[::-1], standing.gauges(now)
    unit = sent.one_of("weights", WEIGHTS)
    least, most = PLAUSIBLE[unit]
    return Fields(
        scale=sent.length(
            "scale", "Scale length", Usual(now.sheet.spec.scale_mm, measured.SPEC),
            Decimal(500), Decimal(760),
        ),
        diameters={
            name: sent.length(
                f"d {name}", f"String {name}", Usual(told.get(name), standing.OF_SET),
                Decimal("0.15"), Decimal(2),
            )
            for name in names
        },
        weights={
            name: sent.figure(f"w {name}", f"String {name}", unit, NOTHING, least, most)
            for name in names
        },
        weight_unit=unit,
        lowered=sent.one_of("lowered", LOWERED),
    )  # fmt: skip


def _pull(now: State, fields: Fields) -> SetPull:
    set_ = standing.strings(now)
    material = set_.material if set_ else now.sheet.spec.string_material
    wires = [
        Wire(
            name,
            _pitch(name, fields),
            float(diameter.value) if diameter.value else None,
            _weight(fields.weights[name]),
            pulls.is_wound(name, material, float(diameter.value) if diameter.value else None),
            material,
        )
        for name, diameter in fields.diameters.items()
    ]
    return pulls.set_pull(wires, fields.scale.number, float(now.sheet.spec.tension_limit_n))


def _pitch(name: str, fields: Fields) -> float:
    number = scale.note_number(scale.open_note(name)) - int(fields.lowered)
    return scale.note_frequency(number)


def _weight(typed: Typed) -> float | None:
    """In kilograms per metre, as typed in one of two units."""
    if typed.value is None:
        return None
    weight = float(typed.value)
    return pulls.metric(weight) if typed.unit == "lb/in" else weight / 1000


def _rows(now: State, fields: Fields, found: SetPull) -> Iterator[Row]:
    by_name = {one.string: one for one in found.pulls}
    for name in fields.diameters:
        one = by_name.get(name)
        yield Row(
            name,
            scale.open_note(name),
            rounded(one.tension_n, 1) if one else None,
            rounded(one.tension_lb, 1) if one else None,
            one.arithmetic if one else "",
        )


def _marked(set_: Strings, fields: Fields) -> float:
    """What the set is marked with, at this scale."""
    marked = Decimal(set_.tension_n)
    if set_.at_scale_mm is None:
        return float(marked)
    return float(tension_at(marked, set_.at_scale_mm, Decimal(str(fields.scale.number))))
