"""The nut: where its slots go, which file cuts them, and how deep."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.bench.set_up import measured, standing, topics
from shop.bench.set_up.typed import Group, Sent, Typed, Usual
from shop.craft.finding import Finding, worst_first
from shop.craft.head.stringing import PAIRED
from shop.craft.set_up import heights, nut_drawing, slot_depth, strung
from shop.craft.set_up import nut as slots
from shop.craft.set_up.figures import rounded
from shop.craft.set_up.nut import NutPlan
from shop.craft.set_up.scale import fret_place
from shop.craft.set_up.slot_depth import FirstFret, SlotDepth
from shop.floor.board import State
from shop.people.gate import BadgeRequest, needs


def _d(figure: str) -> Decimal:
    return Decimal(figure)


@dataclass(frozen=True, slots=True)
class Fields:
    """The form of the page; a string's fields stand under its name."""

    width: Typed
    bass: Typed
    treble: Typed
    pair_gap: Typed | None
    diameters: Mapping[str, Typed]
    fret_height: Typed
    saddle: Mapping[str, Typed]  # the action, bass and treble
    over_1: Mapping[str, Typed]
    pressed: Mapping[str, Typed]
    wanted: Mapping[str, Typed]  # "plain" and "wound"

    @property
    def edges(self) -> tuple[Typed, ...]:
        found = (self.width, self.bass, self.treble, self.pair_gap)
        return tuple(one for one in found if one is not None)

    @property
    def groups(self) -> tuple[Group, ...]:
        """What is folded away under the edges."""
        wanted = (*self.wanted.values(), *self.saddle.values(), self.fret_height)
        return (
            Group("Diameters of the strings", tuple(self.diameters.values()), needed=True),
            Group("Over fret 1, open", tuple(self.over_1.values())),
            Group("Over fret 1, pressed at fret 3", tuple(self.pressed.values())),
            Group("What is wanted, action and frets", wanted),
        )

    @property
    def unknown(self) -> tuple[str, ...]:
        """The strings without a diameter."""
        return tuple(name for name, one in self.diameters.items() if one.value is None)


@dataclass(frozen=True, slots=True)
class Row:
    """One slot as it is shown."""

    string: str
    from_bass_mm: Decimal
    file_least_mm: Decimal
    file_most_mm: Decimal
    lift_mm: Decimal | None


@dataclass(frozen=True, slots=True)
class DepthRow:
    """How deep one slot is to be, as it is shown; no cut where over fret 1 was not read, and
    none where a file is not to go in as it stands."""

    string: str
    now_mm: Decimal | None
    cut_mm: Decimal | None
    stack_mm: Decimal
    arithmetic: tuple[str, ...]


@never_cache
@require_safe
@needs("tag.scan")
def nut(request: BadgeRequest, code: str) -> HttpResponse:
    """Where the slots go, and how deep; whatever is typed is tried out."""
    now = topics.ground(request, code)
    sent = Sent(request)
    fields = _fields(now, sent)
    shown = topics.page(request, code, now, "nut") | {
        "fields": fields,
        "sent": sent,
        "facts": measured.facts(now, "first_fret", "action"),
        "measure": measured.asked_here(request, now, "first_fret", "nut_slot"),
    }
    if not sent.wrong and not fields.unknown:
        shown |= _answer(now, fields)
    return render(request, "bench/set_up/nut.html", shown)


def _fields(now: State, sent: Sent) -> Fields:
    spec, names = now.sheet.spec, standing.from_bass(now)
    told = standing.gauges(now)
    return Fields(
        width=sent.length(
            "width", "Width of the nut", Usual(spec.nut_width_mm, measured.SPEC),
            _d("35"), _d("60"),
        ),
        bass=_margin(sent, "bass", "Edge to the outside of the thick string"),
        treble=_margin(sent, "treble", "Edge to the outside of the thin string"),
        pair_gap=_pair_gap(now, sent) if spec.strings == PAIRED else None,
        diameters={
            name: sent.length(
                f"d {name}", f"String {name}", Usual(told.get(name), standing.OF_SET),
                _d("0.15"), _d("2"),
            )
            for name in names
        },
        fret_height=sent.length(
            "fret", "Height of the frets", standing.fret_height(now), _d("0.5"), _d("1.8")
        ),
        saddle={
            side: sent.length(
                f"action {side}", words, standing.action(now, side), _d("0.5"), _d("6")
            )
            for side, words in (
                ("bass", "Thick string over fret 12"), ("treble", "Thin string over fret 12"),
            )
        },
        over_1={
            name: sent.length(
                f"over {name}", f"String {name}", standing.first_fret(now, name),
                _d("0"), _d("2"),
            )
            for name in names
        },
        pressed={
            name: sent.length(
                f"pressed {name}", f"String {name}", Usual(None, ""), _d("0"), _d("1")
            )
            for name in names
        },
        wanted={
            kind: sent.length(
                f"wanted {kind}", words, Usual(_d(str(start)), standing.USUAL), _d("0.1"), _d("1")
            )
            for kind, words, start in (
                ("plain", "Wanted over fret 1, plain strings", slot_depth.START_PLAIN_MM),
                ("wound", "Wanted over fret 1, wound strings", slot_depth.START_WOUND_MM),
            )
        },
    )  # fmt: skip


def _margin(sent: Sent, side: str, words: str) -> Typed:
    return sent.length(
        side, words, Usual(_d(str(slots.MARGIN_MM)), standing.USUAL), _d("0"), _d("10")
    )


def _pair_gap(now: State, sent: Sent) -> Typed:
    """What the nut of the kit has, where it is one slotted in pairs."""
    told = strung.pair_gap_of(one.article for one in now.kit)
    usual = Usual(told, "the nut") if told else Usual(_d(str(slots.PAIR_GAP_MM)), standing.USUAL)
    return sent.length("pair", "Between the strings of a pair", usual, _d("0.5"), _d("4"))


def _answer(now: State, fields: Fields) -> dict[str, Any]:
    plan = _plan(now, fields)
    depths = tuple(_depths(now, fields))
    known = [one for one in depths if fields.over_1[one.string].value is not None]
    return {
        "plan": plan,
        "drawing": nut_drawing.draw(plan, fields.width.number),
        "gap_mm": rounded(plan.gap_mm),
        "rows": tuple(_rows(plan)),
        "lifted": any(one.lift_mm > 0 for one in plan.slots),
        "depths": tuple(_depth_row(fields, one) for one in depths),
        "summary": slot_depth.summary(known) if known else "",
        "findings": worst_first((*plan.findings, *_found(fields, depths))),
    }


def _plan(now: State, fields: Fields) -> NutPlan:
    return strung.place_all(
        now.sheet.spec,
        {name: one.number for name, one in fields.diameters.items()},
        fields.width.number,
        fields.bass.number,
        fields.treble.number,
        fields.pair_gap.number if fields.pair_gap else slots.PAIR_GAP_MM,
    )


def _rows(plan: NutPlan) -> Iterator[Row]:
    for one in plan.slots:
        yield Row(
            one.string,
            rounded(one.from_bass_mm),
            rounded(one.file_least_mm),
            rounded(one.file_most_mm),
            rounded(one.lift_mm) if one.lift_mm > 0 else None,
        )


def _depths(now: State, fields: Fields) -> Iterator[SlotDepth]:
    """Every slot; one that was not read yet is reckoned as it is wanted. The floor of an octave
    string goes by that of the thick one beside it."""
    scale = float(now.sheet.spec.scale_mm)
    x1, x3, x12, joint = (
        fret_place(scale, one) for one in (1, 3, 12, now.sheet.spec.body_joint_fret)
    )
    relief = standing.relief(now).value
    sag = heights.sag(float(relief or 0), x12, x1, joint)
    names = standing.from_bass(now)
    bass, treble = (fields.saddle[side].number for side in ("bass", "treble"))
    lifts = strung.lifts(
        now.sheet.spec, {name: one.number for name, one in fields.diameters.items()}
    )

    def reckoned(name: str) -> SlotDepth:
        wanted = fields.wanted["wound" if standing.wound(now, name) else "plain"].number
        thick, lift = lifts.get(name, ("", 0.0))
        beside = reckoned(thick) if thick else None
        action = bass + (treble - bass) * names.index(name) / (len(names) - 1)
        typed, pressed = fields.over_1[name].value, fields.pressed[name].value
        over_1 = wanted if typed is None else float(typed)
        if beside and typed is None:
            saddle = heights.saddle_height(action, sag, beside.floor_mm + lift)
            over_1 = heights.clearance(beside.floor_mm + lift, saddle, 0.0, 0.0, x1, scale)
        else:
            saddle = heights.saddle_by_readings(over_1, action, sag, x1, x12, scale)
        read = FirstFret(name, over_1, wanted, saddle, None if pressed is None else float(pressed))
        ground = (scale, x1, x3, fields.fret_height.number)
        if beside:
            return slot_depth.raised(read, beside, lift, *ground)
        return slot_depth.depth(read, *ground)

    return map(reckoned, names)


def _depth_row(fields: Fields, one: SlotDepth) -> DepthRow:
    typed = fields.over_1[one.string].value
    return DepthRow(
        one.string,
        typed,
        None if typed is None or not one.may_be_cut else rounded(one.cut_mm),
        rounded(one.stack_mm),
        one.arithmetic,
    )


def _found(fields: Fields, depths: tuple[SlotDepth, ...]) -> Iterator[Finding]:
    for one in depths:
        yield from one.findings
