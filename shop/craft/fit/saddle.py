"""The saddle: in its slot (R17), and above the bridge (R32)."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from shop.craft.finding import Finding
from shop.craft.fit.exchange import exchange
from shop.craft.fit.gauged import Gauged, sizes
from shop.craft.fit.identity import is_ordered
from shop.craft.fit.mismatch import mismatch
from shop.craft.fit.rule import KitCase, Limit, LineCase, rule
from shop.craft.hardware import Hand, Saddle
from shop.craft.size import Size
from shop.craft.words import mm

# All common practice; a lead may set others for a spec revision.
LEAST = Limit("R17.least", Decimal("0.02"), "mm", "least room of the saddle")
MOST = Limit("R17.most", Decimal("0.08"), "mm", "most")
# Lengths are to be equal; a saddle is cut and its ends rounded by hand.
LENGTH = Limit("R17.length", Decimal("0.5"), "mm", "length either way")
PROUD_LEAST = Limit("R32.least", Decimal("2.0"), "mm", "least height above the bridge")
PROUD_LOW = Limit("R32.low", Decimal("2.5"), "mm", "low below")
PROUD_HIGH = Limit("R32.high", Decimal("4.5"), "mm", "high above")
PROUD_MOST = Limit("R32.most", Decimal("5.0"), "mm", "most")

SLOT = "saddle_slot"  # the quantity gauged at both ends and the middle
PROUD = "proud"  # the quantity measured on both sides


@rule(
    "R17",
    "Saddle of this slot's width and length, strings and hand",
    of=Saddle,
    reads=(
        "thickness_mm",
        "saddle_slot_width_mm",
        "length_mm",
        "saddle_slot_length_mm",
        "strings",
        "hand",
        SLOT,
    ),
    limits=(LEAST, MOST, LENGTH),
)
def suits(case: LineCase[Saddle]) -> Iterator[Finding]:
    for slot in sizes(case, SLOT, "saddle_slot_width_mm"):
        yield from _seats(case, slot)
    yield from _length(case)
    yield from _strings(case)


def _seats(case: LineCase[Saddle], slot: Gauged) -> Iterator[Finding]:
    saddle = case.article
    thick = saddle.size("thickness_mm")
    room = slot.size - thick
    tight = room.least < case.limit(LEAST)
    if not tight and room.most <= case.limit(MOST):
        return
    over = f"{mm(-room.least)} too thick" if room.least < 0 else f"{mm(room.least)} of room"
    how = f"{over}: it will not seat" if tight else f"{mm(room.most)} of room: it will lean"
    yield case.stop(
        f"Saddle {mm(thick)} in slot {mm(slot.size)}{slot.at}, {how}.",
        _put_right(case, slot, tight),
        case.basis(
            slot.side("Slot"),
            (f"Saddle {saddle.key}", f"{thick} mm thick"),
            reckoning=f"{slot.size} \u2212 {thick} = {room} mm",
            uses=(LEAST, MOST),
        ),
        "lead" if slot.places and is_ordered(case.call, saddle) else "clerk",
    )


def _put_right(case: LineCase[Saddle], slot: Gauged, tight: bool) -> str:
    """The ordered saddle is not to blame for a slot that was gauged too narrow or too wide."""
    if not slot.places or not is_ordered(case.call, case.article):
        return exchange(case.call, case.article)
    if tight:
        return "Clear the slot, or rub both faces of the saddle down flat, and gauge again."
    return "Fit nothing. The slot is too wide for the saddle ordered: call the lead."


def _length(case: LineCase[Saddle]) -> Iterator[Finding]:
    has, needs = case.article.size("length_mm"), case.spec.size("saddle_slot_length_mm")
    apart: Size = has - needs
    if max(-apart.least, apart.most) <= case.limit(LENGTH):
        return
    yield mismatch(
        case,
        f"Saddle {case.article.key} is {mm(has)} long, this slot {mm(needs)}.",
        f"{has} mm long",
        f"{needs} mm long",
        reckoning=f"{has} \u2212 {needs} = {apart} mm",
        uses=(LENGTH,),
    )


def _strings(case: LineCase[Saddle]) -> Iterator[Finding]:
    spec, saddle = case.spec, case.article
    if saddle.strings != spec.strings:
        yield mismatch(
            case,
            f"Saddle {saddle.key} is for {saddle.strings} strings, this guitar has {spec.strings}.",
            f"{saddle.strings} strings",
            f"{spec.strings} strings",
            limit="the same number of strings",
        )
    if saddle.hand not in (Hand.ANY, spec.hand):
        has, needs = saddle.hand.words, spec.hand.words
        words = f"Saddle {saddle.key} is shaped {has}, this guitar is {needs}: "
        yield mismatch(
            case,
            f"{words}each string would leave it at another string's point.",
            has,
            needs,
            limit="either hand, or this guitar's",
        )


@rule(
    "R32",
    "Saddle above the bridge",
    reads=(PROUD,),
    limits=(PROUD_LEAST, PROUD_LOW, PROUD_HIGH, PROUD_MOST),
)
def stands(case: KitCase) -> Iterator[Finding]:
    """How far the saddle stands proud shows the angle of the neck, whichever saddle it is."""
    least, low, high, most = (case.limit(one) for one in stands.limits)
    for one in case.call.readings.of(PROUD):
        if max(least, low) <= one.value <= min(high, most):
            continue
        words = f"Saddle stands {mm(one.value)} above the bridge at the {one.place} side: "
        why = case.basis(
            (f"Above the bridge, {one.place} side", mm(one.value)),
            reckoning=mm(one.value),
            uses=stands.limits,
        )
        if not least <= one.value <= most:
            words += f"too {'little' if one.value < least else 'much'}, the neck angle is wrong."
            then = "Go no further. The lead sends it to repair to have its neck set again."
            yield case.stop(words, then, why)
        else:
            words += f"{'less' if one.value < low else 'more'} than is usual."
            then = "Look at the action and at the strings over the saddle, then say why you go on."
            yield case.warn(words, then, why)


RULES = (suits, stands)
