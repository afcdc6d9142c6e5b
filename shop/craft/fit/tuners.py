"""Tuning machines against the head they go on, by count and kind: R01 to R05.

There is no tolerance here. That an individual machine is "left" when it belongs on the
left of the head seen from the front is common practice.
"""

from __future__ import annotations

from collections.abc import Iterator

from shop.craft.finding import Finding
from shop.craft.fit.exchange import exchange, named
from shop.craft.fit.rule import LineCase, rule
from shop.craft.hardware import Hand, SpecFacts, TunerFamily, TunerSet
from shop.craft.words import several


@rule("R01", "As many machines as strings", of=TunerSet, reads=("posts", "strings"))
def count(case: LineCase[TunerSet]) -> Iterator[Finding]:
    machines, strings = case.article.posts, case.spec.strings
    if machines != strings:
        yield case.stop(
            f"{several(machines, 'machine')} in the tray, this guitar needs {strings}.",
            exchange(case.call, case.article),
            case.basis(
                (named(case.article), several(machines, "machine")),
                (case.spec.name, several(strings, "string")),
                reckoning=f"{machines} is not {strings}",
                limit="one machine for each string",
            ),
            "clerk",
        )


@rule("R02", "Machines made for this kind of head", of=TunerSet, reads=("carried", "tuner_family"))
def family(case: LineCase[TunerSet]) -> Iterator[Finding]:
    spec, machines = case.spec, case.article
    if machines.carried is not spec.tuner_family:
        yield case.stop(
            f"These are {machines.carried.words}. This head is {spec.head.value} "
            f"and takes {spec.tuner_family.words}.",
            exchange(case.call, machines),
            case.basis(
                (named(machines), machines.carried.words),
                (spec.name, f"{spec.head.value} head, {spec.tuner_family.words}"),
                limit="the same kind",
            ),
            "clerk",
        )


@rule("R03", "Machines of this guitar's hand", of=TunerSet, reads=("hand",))
def hand(case: LineCase[TunerSet]) -> Iterator[Finding]:
    spec, machines = case.spec, case.article
    # A reversed head takes the machines of the other side, and boxes for it are marked
    # either way: there the split (R04) decides.
    if machines.hand in (Hand.ANY, spec.hand) or _reversed(spec):
        return
    yield case.stop(
        f"This set is for {machines.hand.words} heads. This guitar is {spec.hand.words}.",
        exchange(case.call, machines),
        case.basis(
            (named(machines), machines.hand.words),
            (spec.name, spec.hand.words),
            limit="either hand, or this guitar's",
        ),
        "clerk",
    )


@rule("R04", "Left and right machines as the head has posts", of=TunerSet, reads=("left", "right"))
def split(case: LineCase[TunerSet]) -> Iterator[Finding]:
    spec, machines, line = case.spec, case.article, case.line
    wells_counted = line.left_counted is not None or line.right_counted is not None
    if machines.posts != spec.strings and not wells_counted:
        return  # R01 has said it
    left = machines.left if line.left_counted is None else line.left_counted
    right = machines.right if line.right_counted is None else line.right_counted
    if (left, right) == (spec.left_posts, spec.right_posts):
        return
    yield case.stop(
        f"{left} left and {right} right in the tray. This head needs {spec.left_posts} left "
        f"and {spec.right_posts} right, seen from the front.",
        _evened(case, left, right),
        case.basis(
            (named(machines), f"{left} left + {right} right"),
            (spec.name, f"{spec.left_posts} left + {spec.right_posts} right"),
            limit="equal on both sides, seen from the front",
        ),
        "clerk",
    )


def _evened(case: LineCase[TunerSet], left: int, right: int) -> str:
    spec, machines = case.spec, case.article
    if (machines.left, machines.right) != (spec.left_posts, spec.right_posts):
        return exchange(case.call, machines)
    if left + right != machines.posts:
        full = several(machines.posts, "machine")
        return f"The clerk counts both wells and makes the set up to {full}."
    over, lacking = ("left", "right") if left > spec.left_posts else ("right", "left")
    swapped = several(abs(left - spec.left_posts), f"{over} machine")
    return f"The clerk exchanges {swapped} for {lacking} of the same set and lot."


@rule("R05", "Bushings of the kind the holes are made for", of=TunerSet, reads=("bushing",))
def bushing(case: LineCase[TunerSet]) -> Iterator[Finding]:
    spec, machines = case.spec, case.article
    if machines.bushing is not spec.bushing:
        yield case.stop(
            f"The post holes are made for {spec.bushing.words} bushings, this set has "
            f"{machines.bushing.words} bushings. Do not drill or ream.",
            exchange(case.call, machines),
            case.basis(
                (named(machines), f"{machines.bushing.words} bushings"),
                (spec.name, f"{spec.bushing.words} bushings"),
                limit="the same kind",
            ),
        )


def _reversed(spec: SpecFacts) -> bool:
    return spec.tuner_family is TunerFamily.LINE and spec.reversed_line


RULES = (count, family, hand, split, bushing)
