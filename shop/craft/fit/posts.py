"""Bushings and posts in their holes: R06, R07, R08 and R12.

A hole that was gauged counts as measured; until then the spec's hole between its limits
does. Interference and clearance are those of ISO 286-1, at the worst of both limits.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from shop.craft.finding import Finding
from shop.craft.fit.exchange import exchange
from shop.craft.fit.rule import Limit, LineCase, rule
from shop.craft.hardware import Bushing, TunerFamily, TunerSet
from shop.craft.size import Size, exactly
from shop.craft.words import listed, mm

# All common practice; a lead may set others for a spec revision.
LEAST = Limit("R06.least", Decimal("0.02"), "mm", "least press")
MOST = Limit("R06.most", Decimal("0.10"), "mm", "most press")
LOOSE = Limit("R06.loose", Decimal(0), "mm", "falls out below")
SPLITS = Limit("R06.splits", Decimal("0.15"), "mm", "splits above")
COLLAR_LEAST = Limit("R07.least", Decimal(0), "mm", "least clearance of the collar")
COLLAR_MOST = Limit("R07.most", Decimal("0.5"), "mm", "most")
POST_LEAST = Limit("R08.least", Decimal("0.10"), "mm", "least clearance of the post")
POST_MOST = Limit("R08.most", Decimal("0.80"), "mm", "most")
ROLLER_LEAST = Limit("R12.least", Decimal("0.2"), "mm", "least clearance of the roller")
ROLLER_MOST = Limit("R12.most", Decimal("0.8"), "mm", "most")

HOLE = "hole"  # the quantity gauged at every post

Holes = tuple[tuple[Size, tuple[str, ...]], ...]


def holes(case: LineCase[TunerSet], dimension: str) -> Holes:
    """The holes to judge, each size with the strings it was gauged at; before they are
    gauged, the spec's own hole between its limits with no string."""
    found: dict[Decimal, list[str]] = {}
    for one in case.call.readings.of(HOLE):
        found.setdefault(one.value, []).append(one.place)
    if not found:
        return ((case.spec.size(dimension), ()),)
    return tuple((exactly(size), tuple(at)) for size, at in sorted(found.items()))


def hole_side(hole: Size, at: tuple[str, ...]) -> tuple[str, str]:
    if not at:
        return "Hole by the spec", f"{hole} mm"
    return f"Hole gauged at string {listed(at)}", f"{hole} mm"


def _at(at: tuple[str, ...]) -> str:
    return f" at string {listed(at)}" if at else ""


@rule(
    "R06",
    "Press-in bushing in its hole",
    of=TunerSet,
    reads=("bushing_od_mm", "bushing_hole_mm", HOLE),
    limits=(LEAST, MOST, LOOSE, SPLITS),
)
def press(case: LineCase[TunerSet]) -> Iterator[Finding]:
    if not case.article.bushing is case.spec.bushing is Bushing.PRESS:
        return
    bushing = case.article.size("bushing_od_mm")
    least, most, loose, splits = (case.limit(one) for one in press.limits)
    for hole, at in holes(case, "bushing_hole_mm"):
        tight = bushing - hole
        if max(least, loose) <= tight.least and tight.most <= min(most, splits):
            continue
        words = f"Bushing {mm(bushing)} in hole {mm(hole)}{_at(at)}: "
        why = case.basis(
            (f"Bushing of {case.article.key}", f"{bushing} mm"),
            hole_side(hole, at),
            reckoning=f"{bushing} \u2212 {hole} = {tight} mm",
            uses=press.limits,
        )
        if tight.least < loose:
            words += f"{mm(-tight.least)} loose, it will fall out."
            yield case.stop(words, exchange(case.call, case.article), why, "clerk")
        elif tight.most > splits:
            words += f"{mm(tight.most)} tight, it will chip or split."
            # Lacquer left in a gauged hole is reamed by who gauged it; a spec's hole is not.
            yield case.stop(words, _ream(case, bushing), why, "" if at else "lead")
        elif tight.least < least:
            words += f"only {mm(tight.least)} tight, it may work loose."
            yield case.warn(words, "Press one in and feel its seat, then say why you go on.", why)
        else:
            words += f"{mm(tight.most)} tight, more than is usual."
            yield case.warn(words, _ream(case, bushing), why)


def _ream(case: LineCase[TunerSet], bushing: Size) -> str:
    """The hole to ream to: the spec's where it suits this bushing, else the middle."""
    hole = case.spec.bushing_hole_mm
    least, most = case.limit(LEAST), case.limit(MOST)
    if hole is None or not least <= bushing.most - hole <= most:
        hole = bushing.most - (least + most) / 2
    return f"Ream to {mm(hole)} and gauge again."


@rule(
    "R07",
    "Collar of a threaded bushing through its hole",
    of=TunerSet,
    reads=("bushing_od_mm", "bushing_hole_mm", HOLE),
    limits=(COLLAR_LEAST, COLLAR_MOST),
)
def collar(case: LineCase[TunerSet]) -> Iterator[Finding]:
    if not case.article.bushing is case.spec.bushing is Bushing.THREAD:
        return
    outside = case.article.size("bushing_od_mm")
    least, most = (case.limit(one) for one in collar.limits)
    for hole, at in holes(case, "bushing_hole_mm"):
        clear = hole - outside
        if least <= clear.least and clear.most <= most:
            continue
        why = case.basis(
            hole_side(hole, at),
            (f"Collar of {case.article.key}", f"{outside} mm"),
            reckoning=f"{hole} \u2212 {outside} = {clear} mm",
            uses=collar.limits,
        )
        words = f"Collar {mm(outside)} in hole {mm(hole)}{_at(at)}: "
        if clear.least < least:
            tight = clear.least < 0
            room = f"{mm(-clear.least)} too tight" if tight else f"only {mm(clear.least)} of room"
            words += f"{room}, it does not pass."
            yield case.stop(words, "Ream only if the spec says so. Ask the lead.", why)
        else:
            words += f"{mm(clear.most)} of play, the machine will wander."
            yield case.stop(words, "Fit nothing. Call the lead.", why)


@rule(
    "R08",
    "Post in its through hole",
    of=TunerSet,
    reads=("post_mm", "post_hole_mm"),
    limits=(POST_LEAST, POST_MOST),
)
def post(case: LineCase[TunerSet]) -> Iterator[Finding]:
    # A threaded bushing carries its post itself, and a roller has a rule of its own.
    if case.spec.bushing is not Bushing.PRESS or case.article.carried is TunerFamily.SLOT:
        return
    yield from _clearance(
        case,
        "Post",
        ((case.spec.size("post_hole_mm"), ()),),
        "Check the kit; ream only if the spec says so.",
    )


@rule(
    "R12",
    "Roller in the side hole of a slotted head",
    of=TunerSet,
    reads=("post_mm", "post_hole_mm", HOLE),
    limits=(ROLLER_LEAST, ROLLER_MOST),
)
def roller(case: LineCase[TunerSet]) -> Iterator[Finding]:
    if not case.article.carried is case.spec.tuner_family is TunerFamily.SLOT:
        return
    then = exchange(case.call, case.article)
    yield from _clearance(case, "Roller", holes(case, "post_hole_mm"), then)


def _clearance(case: LineCase[TunerSet], part: str, sizes: Holes, then: str) -> Iterator[Finding]:
    """A turning part needs room, and not too much of it."""
    shaft = case.article.size("post_mm")
    least, most = (case.limit(one) for one in case.rule.limits)
    for hole, at in sizes:
        clear = hole - shaft
        if least <= clear.least and clear.most <= most:
            continue
        tight = clear.least < least
        amount, does = (clear.least, "it will bind") if tight else (clear.most, "it will wander")
        why = case.basis(
            hole_side(hole, at),
            (f"{part} of {case.article.key}", f"{shaft} mm"),
            reckoning=f"{hole} \u2212 {shaft} = {clear} mm",
            uses=case.rule.limits,
        )
        words = f"{part} {mm(shaft)} in hole {mm(hole)}{_at(at)}, {mm(amount)} of room: {does}."
        yield case.stop(words, then, why, "clerk")


RULES = (press, collar, post, roller)
