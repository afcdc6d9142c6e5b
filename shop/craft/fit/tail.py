"""The tail and the heel: end pin or jack (R19, R20), and the strap button's place (R31)."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from shop.craft.finding import Finding
from shop.craft.fit.exchange import exchange
from shop.craft.fit.gauged import Gauged, sizes
from shop.craft.fit.identity import is_ordered, left_to_count
from shop.craft.fit.mismatch import mismatch
from shop.craft.fit.rule import KitCase, Limit, LineCase, rule
from shop.craft.hardware import Tail
from shop.craft.words import mm

# All common practice; a lead may set others for a spec revision.
HOLE = Limit("R19.hole", Decimal("0.10"), "mm", "hole either way")
STRAP_LEAST = Limit("R31.least", Decimal(5), "mm", "least to a bolt, an insert or the rod")

KINDS = {"pin": "an end pin", "jack": "an end jack", "none": "nothing at the tail"}


@rule(
    "R19",
    "End pin or jack, and the hole it is made for",
    of=Tail,
    reads=("kind", "tail", "hole_mm", "tail_hole_mm", "tail_hole"),
    limits=(HOLE,),
)
def suits(case: LineCase[Tail]) -> Iterator[Finding]:
    spec, tail = case.spec, case.article
    if tail.kind == spec.tail:
        for hole in sizes(case, "tail_hole", "tail_hole_mm"):
            yield from _in_hole(case, hole)
    elif spec.tail != "none" or not left_to_count(case.call, tail):
        has, needs = KINDS[tail.kind], KINDS[spec.tail]
        words = f"{tail.key} is {has}, this guitar takes {needs}."
        yield mismatch(case, words, has, needs, limit="the same kind")


def _in_hole(case: LineCase[Tail], hole: Gauged) -> Iterator[Finding]:
    tail, made_for = case.article, case.article.size("hole_mm")
    apart = made_for - hole.size
    if max(-apart.least, apart.most) <= case.limit(HOLE):
        return
    right = is_ordered(case.call, tail) and bool(hole.places)
    then = "It is the hole that is off. Call the lead." if right else exchange(case.call, tail)
    yield case.stop(
        f"{tail.key} {tail.name} needs a hole of {mm(made_for)}, this one is {mm(hole.size)}.",
        f"Do not ream it. {then}",
        case.basis(
            (f"Hole {tail.key} is made for", f"{made_for} mm"),
            hole.side("Hole"),
            reckoning=f"{made_for} \u2212 {hole.size} = {apart} mm",
            uses=(HOLE,),
        ),
        "lead" if right else "clerk",
    )


@rule(
    "R20",
    "Jack long enough for the tail block, and not too long",
    of=Tail,
    reads=("grip_min_mm", "grip_max_mm", "tail_block_mm", "tail_block"),
    origin="the jack's own range",
)
def grips(case: LineCase[Tail]) -> Iterator[Finding]:
    tail = case.article
    if not tail.kind == case.spec.tail == "jack":
        return
    least = None if tail.grip_min_mm is None else tail.size("grip_min_mm").most
    most = None if tail.grip_max_mm is None else tail.size("grip_max_mm").least
    for block in sizes(case, "tail_block", "tail_block_mm"):
        if most is not None and block.size.most > most:
            yield _grip(case, block, f"grips to {mm(most)}", "its nut will not reach the thread")
        if least is not None and block.size.least < least:
            yield _grip(case, block, f"grips from {mm(least)}", "it will not draw tight")


def _grip(case: LineCase[Tail], block: Gauged, grip: str, does: str) -> Finding:
    jack = case.article
    ordered = bool(block.places) and is_ordered(case.call, jack)
    return case.stop(
        f"Tail block is {mm(block.size)}; jack {jack.key} {grip}: {does}.",
        "Fit nothing. Ask the lead for a jack of another length."
        if ordered
        else exchange(case.call, jack),
        case.basis(block.side("Tail block"), (f"Jack {jack.key}", grip), limit=grip),
        "lead" if ordered else "clerk",
    )


@rule(
    "R31",
    "Strap button clear of bolts, inserts and rod",
    reads=("strap",),
    limits=(STRAP_LEAST,),
)
def strap(case: KitCase) -> Iterator[Finding]:
    least = case.limit(STRAP_LEAST)
    for one in case.call.readings.of("strap"):
        if one.value >= least:
            continue
        yield case.stop(
            f"{mm(one.value)} from the strap button to the nearest bolt or rod: "
            "its screw would hit it.",
            f"Do not drill here. Move the spot by the jig until {mm(least)} are left, "
            "and measure again.",
            case.basis(
                ("Strap button to the nearest bolt or rod", mm(one.value)),
                reckoning=mm(one.value),
                uses=strap.limits,
            ),
        )


RULES = (suits, grips, strap)
