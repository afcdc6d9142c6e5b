"""The nut: against the neck it seats on (R16), the strings in its slots (R34), its pairs (R36)."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from shop.craft.finding import Finding
from shop.craft.fit.mismatch import mismatch
from shop.craft.fit.rule import Limit, LineCase, rule
from shop.craft.hardware import Hand, Nut, Strings
from shop.craft.head.stringing import PAIRED
from shop.craft.size import exactly
from shop.craft.words import listed, mm

# All common practice; a lead may set others for a spec revision.
WIDTH = Limit("R16.width", Decimal("0.10"), "mm", "width either way")
ROOM_LEAST = Limit("R34.least", Decimal("0.05"), "mm", "least room of a string in its slot")
ROOM_MOST = Limit("R34.most", Decimal("0.15"), "mm", "most")
GAP_LEAST = Limit("R36.least", Decimal("1.8"), "mm", "least gap of a pair")
GAP_MOST = Limit("R36.most", Decimal("2.2"), "mm", "most")

SLOT = "nut_slot"  # the quantity gauged at every string
OCTAVE = "octave"  # the quantity told at every pair of a wound string and its octave


@rule(
    "R16",
    "Nut of this neck's width, strings, spread and hand",
    of=Nut,
    reads=("width_mm", "nut_width_mm", "strings", "spread_mm", "nut_spread_mm", "hand"),
    limits=(WIDTH,),
)
def suits(case: LineCase[Nut]) -> Iterator[Finding]:
    """Every way one picked nut differs from the spec. A blank without slots has neither
    spread nor hand, so only a slotted nut is asked for those."""
    yield from _blank(case)
    if case.article.slotted:
        yield from _slots(case)


def _blank(case: LineCase[Nut]) -> Iterator[Finding]:
    spec, nut = case.spec, case.article
    has, needs = nut.size("width_mm"), spec.size("nut_width_mm")
    apart = has - needs
    if max(-apart.least, apart.most) > case.limit(WIDTH):
        yield mismatch(
            case,
            f"Nut {nut.key} is {mm(has)} wide, this neck takes {mm(needs)}.",
            f"{has} mm wide",
            f"{needs} mm wide",
            reckoning=f"{has} \u2212 {needs} = {apart} mm",
            uses=(WIDTH,),
        )
    if nut.strings != spec.strings:
        yield mismatch(
            case,
            f"Nut {nut.key} is for {nut.strings} strings, this guitar has {spec.strings}.",
            f"{nut.strings} strings",
            f"{spec.strings} strings",
            limit="the same number of strings",
        )


def _slots(case: LineCase[Nut]) -> Iterator[Finding]:
    spec, nut = case.spec, case.article
    if nut.spread_mm != spec.nut_spread_mm:
        has = "in pairs or flat" if nut.spread_mm is None else mm(nut.spread_mm)
        needs = "pairs or a flat nut" if spec.nut_spread_mm is None else mm(spec.nut_spread_mm)
        words = f"Nut {nut.key} is slotted {has} across the outer strings"
        yield mismatch(
            case, f"{words}, this guitar needs {needs}.", has, needs, limit="the same spread"
        )
    if nut.hand not in (Hand.ANY, spec.hand):
        has, needs = nut.hand.words, spec.hand.words
        words = f"Nut {nut.key} is slotted {has}, this guitar is {needs}: "
        yield mismatch(
            case,
            f"{words}the widest slot would lie under string 1.",
            has,
            needs,
            limit="either hand, or this guitar's",
        )


Room = tuple[str, Decimal, Decimal]  # a string, the slot gauged for it, its diameter


@rule(
    "R34",
    "Strings in the slots cut for them",
    of=Strings,
    reads=("gauges", SLOT),
    limits=(ROOM_LEAST, ROOM_MOST),
)
def slots_cut(case: LineCase[Strings]) -> Iterator[Finding]:
    """A slot gauged for a string leaves it some room: below that it binds, above it rattles."""
    least, most = case.limit(ROOM_LEAST), case.limit(ROOM_MOST)
    rooms = [
        (string, slot, gauge)
        for string, gauge in case.article.gauges
        if (slot := case.call.readings.at(SLOT, string)) is not None
    ]
    tight = [one for one in rooms if one[1] - one[2] < least]
    wide = [one for one in rooms if one[1] - one[2] > most]
    if tight:
        then = "File these slots wider, or string it with the set they were cut for."
        yield _cut_for(case, "thinner", "bind", tight, then)
    if wide:
        then = "String it with the set they were cut for, or take the nut to be filled."
        yield _cut_for(case, "thicker", "rattle", wide, then)


def _cut_for(
    case: LineCase[Strings], other: str, does: str, rooms: list[Room], then: str
) -> Finding:
    set_, strings = case.article, listed([string for string, _, _ in rooms])
    said = [f"string {string} {mm(slot - gauge)}" for string, slot, gauge in rooms]
    told = [
        f"{exactly(slot)} \u2212 {exactly(gauge)} = {mm(slot - gauge)}" for _, slot, gauge in rooms
    ]
    return case.warn(
        f"Slots cut for {other} strings than {set_.key} {set_.name}. "
        f"Room in the slot: {listed(said)}. They will {does}.",
        then,
        case.basis(
            (f"Slots gauged at string {strings}", listed([mm(slot) for _, slot, _ in rooms])),
            (f"Strings of {set_.key}", listed([mm(gauge) for _, _, gauge in rooms])),
            reckoning="; ".join(told),
            uses=(ROOM_LEAST, ROOM_MOST),
        ),
    )


@rule(
    "R36",
    "Strings in pairs, the octave string on its side",
    of=Nut,
    reads=("pair_gap_mm", "octave_on_bass_side", OCTAVE),
    limits=(GAP_LEAST, GAP_MOST),
)
def pairs(case: LineCase[Nut]) -> Iterator[Finding]:
    """A guitar strung in pairs. A nut for another number of strings, or one slotted across
    the outer strings, is told by R16."""
    spec, nut = case.spec, case.article
    if spec.strings != PAIRED:
        return
    if nut.slotted and nut.strings == PAIRED:
        yield from _gap(case)
    yield from _octaves(case)


def _gap(case: LineCase[Nut]) -> Iterator[Finding]:
    nut, least, most = case.article, case.limit(GAP_LEAST), case.limit(GAP_MOST)
    if nut.pair_gap_mm is None:
        if nut.spread_mm == case.spec.nut_spread_mm:  # otherwise R16 has said it
            yield mismatch(
                case,
                f"Nut {nut.key} is not slotted in pairs, this guitar is strung in pairs.",
                "no gap of a pair",
                "strung in pairs",
                uses=pairs.limits,
            )
        return
    gap = nut.size("pair_gap_mm")
    if gap.least < least or gap.most > most:
        does = "touch" if gap.least < least else "be missed by the finger"
        yield mismatch(
            case,
            f"Nut {nut.key} has its pairs {mm(gap)} apart: the two strings of a pair will {does}.",
            f"{gap} mm between the strings of a pair",
            "strung in pairs",
            reckoning=f"{gap} mm",
            uses=pairs.limits,
        )


def _octaves(case: LineCase[Nut]) -> Iterator[Finding]:
    due = case.spec.octave_on_bass_side
    for one in case.call.readings.of(OCTAVE):
        on_bass = one.value == 1
        if on_bass is due:
            continue
        yield case.stop(
            f"Octave string is on the wrong side of course {one.place}.",
            f"Change the two strings of course {one.place} over: "
            f"the octave string lies on the {_side(due)} side.",
            case.basis(
                (f"Octave string of course {one.place}", f"{_side(on_bass)} side"),
                (case.spec.name, f"{_side(due)} side"),
                limit="the side this spec names",
            ),
        )


def _side(bass: bool) -> str:
    return "bass" if bass else "treble"


RULES = (suits, slots_cut, pairs)
