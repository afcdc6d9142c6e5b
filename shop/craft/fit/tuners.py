"""Tuning machines against the head they go on: R01 to R05.

All five compare counts and kinds, so there is no tolerance here. That an individual
machine is "left" when it belongs on the left of the head seen from the front is common
practice.
"""

from __future__ import annotations

from collections.abc import Iterator

from shop.craft.finding import Finding, stop
from shop.craft.fit.exchange import exchange
from shop.craft.hardware import Call, Hand, Picked, SpecFacts, TunerFamily, TunerSet
from shop.craft.words import several


def findings(call: Call, line: Picked) -> Iterator[Finding]:
    """What R01 to R05 have to say about one picked line: count, family, hand, split, bushing."""
    machines = line.article
    if not isinstance(machines, TunerSet):
        return
    yield from _count(call, machines)
    yield from _family(call, machines)
    yield from _hand(call, machines)
    yield from _split(call, machines, line)
    yield from _bushing(call, machines)


def _count(call: Call, machines: TunerSet) -> Iterator[Finding]:
    if machines.posts != call.spec.strings:
        yield stop(
            "R01",
            f"{several(machines.posts, 'machine')} in the tray, "
            f"this guitar needs {call.spec.strings}.",
            exchange(call, machines),
            "clerk",
        )


def _family(call: Call, machines: TunerSet) -> Iterator[Finding]:
    spec = call.spec
    if machines.carried is not spec.tuner_family:
        yield stop(
            "R02",
            f"These are {machines.carried.words}. This head is {spec.head.value} "
            f"and takes {spec.tuner_family.words}.",
            exchange(call, machines),
            "clerk",
        )


def _hand(call: Call, machines: TunerSet) -> Iterator[Finding]:
    spec = call.spec
    # A reversed head takes the machines of the other side, and boxes for it are marked
    # either way: there the split (R04) decides.
    if machines.hand in (Hand.ANY, spec.hand) or _reversed(spec):
        return
    yield stop(
        "R03",
        f"This set is for {machines.hand.words} heads. This guitar is {spec.hand.words}.",
        exchange(call, machines),
        "clerk",
    )


def _split(call: Call, machines: TunerSet, line: Picked) -> Iterator[Finding]:
    spec = call.spec
    wells_counted = line.left_counted is not None or line.right_counted is not None
    if machines.posts != spec.strings and not wells_counted:
        return  # R01 has said it
    left = machines.left if line.left_counted is None else line.left_counted
    right = machines.right if line.right_counted is None else line.right_counted
    if (left, right) == (spec.left_posts, spec.right_posts):
        return
    yield stop(
        "R04",
        f"{left} left and {right} right in the tray. This head needs {spec.left_posts} left "
        f"and {spec.right_posts} right, seen from the front.",
        _evened(call, machines, left, right),
        "clerk",
    )


def _evened(call: Call, machines: TunerSet, left: int, right: int) -> str:
    spec = call.spec
    if (machines.left, machines.right) != (spec.left_posts, spec.right_posts):
        return exchange(call, machines)
    if left + right != machines.posts:
        full = several(machines.posts, "machine")
        return f"The clerk counts both wells and makes the set up to {full}."
    over, lacking = ("left", "right") if left > spec.left_posts else ("right", "left")
    swapped = several(abs(left - spec.left_posts), f"{over} machine")
    return f"The clerk exchanges {swapped} for {lacking} of the same set and lot."


def _bushing(call: Call, machines: TunerSet) -> Iterator[Finding]:
    spec = call.spec
    if machines.bushing is not spec.bushing:
        yield stop(
            "R05",
            f"The post holes are made for {spec.bushing.words} bushings, this set has "
            f"{machines.bushing.words} bushings. Do not drill or ream.",
            exchange(call, machines),
            "lead",
        )


def _reversed(spec: SpecFacts) -> bool:
    return spec.tuner_family is TunerFamily.LINE and spec.reversed_line
