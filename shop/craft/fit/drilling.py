"""Putting the machines on: pilot bit and stop collar R28, threaded bushings R29, and the
way a machine tightens R30.

What is measured here speaks once it was read; that it is read at all is the bench's gate.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from shop.craft.finding import Finding
from shop.craft.fit.exchange import exchange, named
from shop.craft.fit.rule import Limit, LineCase, rule
from shop.craft.hardware import Bushing, TunerSet, Worm
from shop.craft.size import Size, plain
from shop.craft.words import THIN, mm

# All common practice; a lead may set others for a spec revision.
THINNEST = Limit("R28.least", Decimal("1.2"), "mm", "pilot of a 2.2 mm screw at least")
WIDEST = Limit("R28.most", Decimal("1.6"), "mm", "at most")
SHORTER = Limit("R28.shorter", Decimal(1), "mm", "bored short of the screw's length by")
EITHER_WAY = Limit("R28.depth", Decimal("0.25"), "mm", "either way")
TURNS = Limit("R29.turns", Decimal(3), "turns", "engaged at least")
TORQUE = Limit("R29.torque", Decimal("1.8"), "N\u202fm", "tightened to at most")

SCREW_MM = Decimal("2.2")  # the screw the limits of the pilot are for; others in proportion
HUNDREDTH = Decimal("0.01")

PILOT, COLLAR, TORQUE_READ, TURNS_READ, WORM = "pilot", "collar", "torque", "turns", "worm"
OPPOSITE = {"L": ("left", "right"), "R": ("right", "left")}


@rule(
    "R28",
    "Pilot bit and stop collar for the screws",
    of=TunerSet,
    reads=("screw_mm", "screw_length_mm", PILOT, COLLAR),
    limits=(THINNEST, WIDEST, SHORTER, EITHER_WAY),
)
def pilot(case: LineCase[TunerSet]) -> Iterator[Finding]:
    for one in case.call.readings.of(PILOT):
        yield from _bit(case, one.value)
    for one in case.call.readings.of(COLLAR):
        yield from _depth(case, one.value)


def _bit(case: LineCase[TunerSet], bit: Decimal) -> Iterator[Finding]:
    screw = case.article.size("screw_mm")
    # The thickest screw asks for the least, the thinnest for the most.
    least = _in_proportion(case.limit(THINNEST), screw.most)
    most = _in_proportion(case.limit(WIDEST), screw.least)
    if least <= bit <= most:
        return
    band = mm(Size(least, most))
    does = "too thin, the screw may snap" if bit < least else "too wide, the screw will not hold"
    yield case.stop(
        f"Pilot bit {mm(bit)} for a screw of {mm(screw)}: {does}.",
        f"Take a bit of {band} and calliper it again.",
        case.basis(
            ("Pilot bit", f"{plain(bit)} mm"),
            (f"Screw of {case.article.key}", f"{screw} mm"),
            reckoning=f"{plain(case.limit(THINNEST))} × {plain(screw.most)} / {SCREW_MM} to "
            f"{plain(case.limit(WIDEST))} × {plain(screw.least)} / {SCREW_MM} = {band}",
            uses=(THINNEST, WIDEST),
        ),
        "",
    )


def _in_proportion(limit_mm: Decimal, screw_mm: Decimal) -> Decimal:
    return (limit_mm * screw_mm / SCREW_MM).quantize(HUNDREDTH)


def _depth(case: LineCase[TunerSet], depth: Decimal) -> Iterator[Finding]:
    screw, shorter = case.article.size("screw_length_mm"), case.limit(SHORTER)
    due = Size(screw.least - shorter, screw.most - shorter)
    over, under = depth - due.least, due.most - depth
    if max(over, under) <= case.limit(EITHER_WAY):
        return
    does = "the bit goes too deep" if over > under else "the screw may snap"
    yield case.stop(
        f"Stop collar at {mm(depth)}, screws of {mm(screw)} need {mm(due)}: {does}.",
        f"Set the stop collar to {mm(due)} and measure again.",
        case.basis(
            ("Bit beyond the collar", f"{plain(depth)} mm"),
            (f"Screw of {case.article.key}", f"{screw} mm long"),
            reckoning=f"{screw} \u2212 {plain(shorter)} = {due} mm, "
            f"off by {plain(max(over, under))} mm",
            uses=(SHORTER, EITHER_WAY),
        ),
        "",
    )


@rule(
    "R29",
    "Threaded bushings engaged and not overtightened",
    of=TunerSet,
    reads=("bushing", TURNS_READ, TORQUE_READ),
    limits=(TURNS, TORQUE),
)
def threads(case: LineCase[TunerSet]) -> Iterator[Finding]:
    if case.article.bushing is not Bushing.THREAD:
        return
    readings, side = case.call.readings, named(case.article)
    for one in readings.of(TURNS_READ):
        if one.value < case.limit(TURNS):
            yield case.stop(
                f"Turns engaged {plain(one.value)}, {plain(case.limit(TURNS))} needed: "
                "the peghead is too thick or the bushing too short.",
                "Back it out before the spanner. Call the lead.",
                case.basis(
                    (f"Turns engaged, {one.place}", plain(one.value)),
                    (side, "threaded bushings"),
                    reckoning=f"{plain(one.value)} is under {plain(case.limit(TURNS))}",
                    uses=(TURNS,),
                ),
            )
    for one in readings.of(TORQUE_READ):
        if one.value > case.limit(TORQUE):
            has, most = (f"{plain(n)}{THIN}{TORQUE.unit}" for n in (one.value, case.limit(TORQUE)))
            yield case.stop(
                f"Torque {has}, these bushings take {most}: the finish will crush.",
                f"Set the driver to {most} and look under each bushing. Call the lead.",
                case.basis(
                    (f"Torque, {one.place}", has),
                    (side, "threaded bushings"),
                    reckoning=f"{plain(one.value)} is over {plain(case.limit(TORQUE))}",
                    uses=(TORQUE,),
                ),
            )


@rule(
    "R30",
    "Worm nearest the nut, button counter-clockwise to tighten",
    of=TunerSet,
    reads=("worm_right_hand", WORM),
)
def tightens(case: LineCase[TunerSet]) -> Iterator[Finding]:
    """Nearest the nut, the pull of the string presses the gear into its worm. The button's
    turn is as seen from its own end."""
    machines = case.article
    if machines.worm is Worm.TIP:
        yield _backwards(
            case,
            "The worm of these machines is nearest the tip: the string pulls gear and worm apart.",
            exchange(case.call, machines),
            (named(machines), "worm nearest the tip"),
        )
    if not machines.worm_right_hand:
        yield _backwards(
            case,
            "The worm of these machines has a left-hand thread: the button tightens clockwise.",
            exchange(case.call, machines),
            (named(machines), "left-hand thread"),
        )
    for one in case.call.readings.of(WORM):
        if one.value != 1:
            here, other = OPPOSITE[one.place]
            yield _backwards(
                case,
                f"This machine tightens backwards here: it is a {other} one on the {here}.",
                f"Do not drill. The clerk exchanges it for a {here} machine of the same set.",
                (f"A {here} machine of {machines.key}", "tightens backwards"),
            )


def _backwards(
    case: LineCase[TunerSet], words: str, then: str, machine: tuple[str, str]
) -> Finding:
    due = (case.spec.name, "worm nearest the nut, button tightens counter-clockwise")
    limit = "worm nearest the nut, right-hand thread"
    return case.stop(words, then, case.basis(machine, due, limit=limit), "clerk")


RULES = (pilot, threads, tightens)
