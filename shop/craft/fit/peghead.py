"""The machines in the wood of the head: R09, R10 and R14.

A head that was gauged counts as the mean of its places; a screw meets the thinnest of them.
Until then the spec's own thickness between its limits does.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from shop.craft.finding import Finding
from shop.craft.fit.exchange import exchange
from shop.craft.fit.rule import Limit, LineCase, rule
from shop.craft.gauging import KEPT
from shop.craft.hardware import Head, TunerSet
from shop.craft.reading import Reading
from shop.craft.size import Size, exactly, plain
from shop.craft.words import listed, mm

# All common practice; a lead may set others for a spec revision.
NEAR = Limit("R09.near", Decimal("0.3"), "mm", "inside the range, from either end at least")
SPREAD = Limit("R09.spread", Decimal("0.3"), "mm", "between thickest and thinnest at most")
LEAST = Limit("R10.least", Decimal(4), "mm", "string hole above the face at least")
MOST = Limit("R10.most", Decimal(9), "mm", "at most")
BURIES = Limit("R10.buries", Decimal(3), "mm", "string buries below")
LIFTS = Limit("R10.lifts", Decimal(10), "mm", "lies too flat over the nut above")
UNDER = Limit("R14.under", Decimal(3), "mm", "wood left under a screw at least")
BEHIND = Limit("R14.behind", Decimal(2), "mm", "wood left behind a screw at least")

PEGHEAD = "peghead"  # the quantity gauged at three places of the head


def thickness(case: LineCase[TunerSet]) -> Size:
    """The peghead: the mean of the places gauged, else the spec's between its limits."""
    gauged = _gauged(case)
    if not gauged:
        return case.spec.size("peghead_mm")
    whole = sum((one.value for one in gauged), Decimal(0))
    return exactly((whole / len(gauged)).quantize(KEPT))


def _gauged(case: LineCase[TunerSet]) -> tuple[Reading, ...]:
    return case.call.readings.of(PEGHEAD)


def _head_side(case: LineCase[TunerSet], thick: Size) -> tuple[str, str]:
    """The peghead as one side of a finding, with the places its mean is of."""
    gauged = _gauged(case)
    if not gauged:
        return "Peghead by the spec", f"{thick} mm"
    return "Peghead gauged", f"{_places(gauged)}, mean {thick} mm"


def _places(gauged: tuple[Reading, ...]) -> str:
    return listed([f"{mm(one.value)} {one.place}" for one in gauged])


def _of_this_head(case: LineCase[TunerSet]) -> bool:
    """Machines of another kind are R02's; how deep they sit would say nothing."""
    return case.article.carried is case.spec.tuner_family


def _refused(case: LineCase[TunerSet]) -> str:
    """A head by the spec leaves the set to exchange; a gauged one is for the lead to judge."""
    return "Fit nothing. Call the lead." if _gauged(case) else exchange(case.call, case.article)


@rule(
    "R09",
    "Peghead as thick as the machines take",
    of=TunerSet,
    reads=("peghead_mm", "peghead_min_mm", "peghead_max_mm", PEGHEAD),
    limits=(NEAR, SPREAD),
)
def thick(case: LineCase[TunerSet]) -> Iterator[Finding]:
    if not _of_this_head(case):
        return
    head = thickness(case)
    ends = _ends(case.article, head)
    if not ends:
        return
    yield from _uneven(case)
    way, more, less = min(ends, key=lambda end: (end[1] - end[2]).least)
    left = more - less
    room = left.least
    if room >= case.limit(NEAR):
        return
    takes = _range(case.article)
    why = case.basis(
        _head_side(case, head),
        (f"Range of {case.article.key}", takes),
        reckoning=f"{more} \u2212 {less} = {left} mm",
        uses=(NEAR,),
    )
    words = f"Peghead {mm(head)}, these machines take {takes}: "
    if room < 0:
        yield case.stop(f"{words}{mm(-room)} too {way}.", _refused(case), why)
    else:
        words += f"{mm(room)} short of too {way}."
        yield case.warn(words, "Seat one machine and look, then say why you go on.", why)


def _ends(machines: TunerSet, head: Size) -> list[tuple[str, Size, Size]]:
    """The ends of the set's range: too what past it, and the two sizes to subtract."""
    ends = []
    if machines.peghead_max_mm is not None:
        ends.append(("thick", machines.size("peghead_max_mm"), head))
    if machines.peghead_min_mm is not None:
        ends.append(("thin", head, machines.size("peghead_min_mm")))
    return ends


def _range(machines: TunerSet) -> str:
    if machines.peghead_min_mm is None:
        return f"up to {mm(machines.size('peghead_max_mm'))}"
    if machines.peghead_max_mm is None:
        return f"{mm(machines.size('peghead_min_mm'))} and more"
    return f"{machines.size('peghead_min_mm')} to {mm(machines.size('peghead_max_mm'))}"


def _uneven(case: LineCase[TunerSet]) -> Iterator[Finding]:
    """A head that tapers seats its machines unevenly, whatever its mean is."""
    gauged = _gauged(case)
    if not gauged:
        return
    thickest = max(one.value for one in gauged)
    thinnest = min(one.value for one in gauged)
    apart = thickest - thinnest
    if apart <= case.limit(SPREAD):
        return
    yield case.warn(
        f"Peghead {_places(gauged)}: {mm(apart)} uneven.",
        "Lay a straightedge on its back, then say why you go on.",
        case.basis(
            *((f"Peghead {one.place}", f"{plain(one.value)} mm") for one in gauged),
            reckoning=f"{plain(thickest)} \u2212 {plain(thinnest)} = {plain(apart)} mm",
            uses=(SPREAD,),
        ),
    )


@rule(
    "R10",
    "String hole above the face of the head",
    of=TunerSet,
    reads=("reach_mm", "peghead_mm", PEGHEAD),
    limits=(LEAST, MOST, BURIES, LIFTS),
)
def height(case: LineCase[TunerSet]) -> Iterator[Finding]:
    if case.article.reach_mm is None or not _of_this_head(case):
        return
    reach, head = case.article.size("reach_mm"), thickness(case)
    above = reach - head
    least, most, buries, lifts = (case.limit(one) for one in height.limits)
    if max(least, buries) <= above.least and above.most <= min(most, lifts):
        return
    why = case.basis(
        (f"Seat to string hole of {case.article.key}", f"{reach} mm"),
        _head_side(case, head),
        reckoning=f"{reach} \u2212 {head} = {above} mm",
        uses=height.limits,
    )
    words = "String hole {} above the face: "
    look = "String one machine and look, then say why you go on."
    if above.least < buries:
        words += "the string will bury in the wood."
        yield case.stop(words.format(mm(above.least)), _refused(case), why)
    elif above.most > lifts:
        words += "the string will lie too flat over the nut."
        yield case.stop(words.format(mm(above.most)), _refused(case), why)
    elif above.least < least:
        words += "lower than is usual."
        yield case.warn(words.format(mm(above.least)), look, why)
    else:
        words += "higher than is usual."
        yield case.warn(words.format(mm(above.most)), look, why)


@rule(
    "R14",
    "Screws that stay in the wood",
    of=TunerSet,
    reads=("screw_length_mm", "peghead_mm", "wall_mm", PEGHEAD),
    limits=(UNDER, BEHIND),
)
def screws(case: LineCase[TunerSet]) -> Iterator[Finding]:
    slotted = case.spec.head is Head.SLOTTED
    if not _of_this_head(case) or (slotted and case.spec.wall_mm is None):
        return
    wood, side, kept = _wall(case) if slotted else _thinnest(case)
    screw = case.article.size("screw_length_mm")
    left = wood - screw
    if left.least >= case.limit(kept):
        return
    longest = mm(wood.least - case.limit(kept))
    yield case.stop(
        f"Screw {mm(screw)} in {mm(wood)} of wood will show through: {longest} is the longest.",
        f"Ask the clerk for screws of {longest} or less.",
        case.basis(
            side,
            (f"Screw of {case.article.key}", f"{screw} mm"),
            reckoning=f"{wood} \u2212 {screw} = {left} mm",
            uses=(kept,),
        ),
        "clerk",
    )


def _wall(case: LineCase[TunerSet]) -> tuple[Size, tuple[str, str], Limit]:
    wall = case.spec.size("wall_mm")
    return wall, ("Wall of the slot by the spec", f"{wall} mm"), BEHIND


def _thinnest(case: LineCase[TunerSet]) -> tuple[Size, tuple[str, str], Limit]:
    gauged = _gauged(case)
    if not gauged:
        head = case.spec.size("peghead_mm")
        return head, _head_side(case, head), UNDER
    thinnest = min(gauged, key=lambda one: one.value)
    head = exactly(thinnest.value)
    return head, (f"Peghead gauged thinnest, {thinnest.place}", f"{head} mm"), UNDER


RULES = (thick, height, screws)
