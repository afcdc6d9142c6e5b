"""The bridge where it is located, before anything is cut for it (R41)."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from shop.craft.finding import Finding
from shop.craft.fit.rule import KitCase, Limit, rule
from shop.craft.gauging.setting import BRIDGE_PLACE
from shop.craft.reading import Reading
from shop.craft.set_up.aims import Aims, aims
from shop.craft.set_up.figures import figure, signed
from shop.craft.set_up.scale import saddle_cents
from shop.craft.size import plain
from shop.craft.words import mm

# Common practice; a lead may set others for a spec revision.
OFF = Limit("R41.off", Decimal("0.5"), "mm", "off its place either way")
SKEW = Limit("R41.skew", Decimal("0.3"), "mm", "one side against the other")


@rule(
    "R41",
    "Bridge at its place for this scale",
    reads=("scale_mm", "compensation_mm", BRIDGE_PLACE),
    limits=(OFF, SKEW),
)
def stands(case: KitCase) -> Iterator[Finding]:
    """The middle of the saddle stands beyond the scale by the compensation, read along both
    edges: an octave cut for at the wrong place cannot be filed right again."""
    aimed = aims(case.spec)
    read = case.call.readings.of(BRIDGE_PLACE)
    off = [one for one in read if abs(_off(one, aimed)) > case.limit(OFF)]
    for one in off:
        yield _away(case, one, aimed)
    if not off:
        yield from _askew(case)


def _off(one: Reading, aimed: Aims) -> Decimal:
    return one.value - aimed.bridge_place_mm


def _away(case: KitCase, one: Reading, aimed: Aims) -> Finding:
    off = _off(one, aimed)
    cents = saddle_cents(float(off), float(aimed.scale_mm))
    side, read, target = one.place, mm(one.value), mm(aimed.bridge_place_mm)
    away, costs = mm(abs(off)), figure(abs(cents), 1)
    if off > 0:
        words = (
            f"{read} from the nut on the {side} side is {away} beyond {target}: "
            f"the octave would be {costs} cents flat."
        )
        then = f"Cut nothing. Move the {side} side {away} towards the nut and measure both again."
    else:
        words = (
            f"{read} from the nut on the {side} side is {away} short of {target}: "
            f"the octave would be {costs} cents sharp."
        )
        then = f"Cut nothing. Move the {side} side {away} from the nut and measure both again."
    scale, beyond = plain(aimed.scale_mm), plain(aimed.compensation_mm)
    place = plain(aimed.bridge_place_mm)
    return case.stop(
        words,
        then,
        case.basis(
            (f"Nut to saddle, {side} side", read),
            ("Scale", mm(aimed.scale_mm)),
            ("Compensation", mm(aimed.compensation_mm)),
            reckoning=(
                f"{scale} + {beyond} = {place}; "
                f"{plain(one.value)} \u2212 {place} = {signed(float(off))} mm; "
                f"1731 × {figure(float(off))} / {scale} = {figure(cents, 1)}"
            ),
            uses=(OFF,),
        ),
    )


def _askew(case: KitCase) -> Iterator[Finding]:
    readings = case.call.readings
    bass, treble = readings.at(BRIDGE_PLACE, "bass"), readings.at(BRIDGE_PLACE, "treble")
    if bass is None or treble is None or abs(bass - treble) <= case.limit(SKEW):
        return
    far, near = ("bass", "treble") if bass > treble else ("treble", "bass")
    apart = mm(abs(bass - treble))
    yield case.warn(
        f"The {far} side is {apart} further from the nut than the {near} side: "
        "the bridge stands askew.",
        "Turn it square, clamp it and measure both sides again, or say why it stands so.",
        case.basis(
            ("Nut to saddle, bass side", mm(bass)),
            ("Nut to saddle, treble side", mm(treble)),
            reckoning=f"{plain(bass)} \u2212 {plain(treble)} = {signed(float(bass - treble))} mm",
            uses=(SKEW,),
        ),
    )


RULES = (stands,)
