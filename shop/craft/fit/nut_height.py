"""The strings over the first fret, as the depth of the nut's slots leaves them (R45)."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Final

from shop.craft.finding import Finding
from shop.craft.fit.rule import KitCase, Limit, rule
from shop.craft.gauging.setting import FIRST_FRET
from shop.craft.hardware import Strings
from shop.craft.reading import Reading
from shop.craft.set_up.strings import WOUND_FROM_MM
from shop.craft.words import listed, mm

# Common practice; a lead may set others for a spec revision. Where to start, before the string
# is played, lies within: 0.30 plain and 0.51 wound by a published kit manual.
PLAIN_LEAST = Limit("R45.plain_least", Decimal("0.25"), "mm", "least under a plain string")
PLAIN_MOST = Limit("R45.plain_most", Decimal("0.40"), "mm", "most under a plain string")
WOUND_LEAST = Limit("R45.wound_least", Decimal("0.40"), "mm", "least under a wound string")
WOUND_MOST = Limit("R45.wound_most", Decimal("0.55"), "mm", "most under a wound string")
NYLON_MORE = Limit("R45.nylon", Decimal("0.25"), "mm", "nylon strings may stand higher by")

WOUND: Final = {"steel": frozenset("6543"), "nylon": frozenset("654")}  # by their numbers


@rule(
    "R45",
    "Strings over the first fret",
    reads=("gauges", FIRST_FRET),
    limits=(PLAIN_LEAST, PLAIN_MOST, WOUND_LEAST, WOUND_MOST, NYLON_MORE),
)
def clear(case: KitCase) -> Iterator[Finding]:
    """Open, each string clears fret 1 by a little: one that touches buzzes, one that stands
    high is sharp and hard to press."""
    read = case.call.readings.of(FIRST_FRET)
    touching = [one for one in read if one.value <= 0]
    if touching:
        yield _touch(case, touching)
    for wound in (False, True):
        least, most = _range(case, wound=wound)
        some = [one for one in read if one.value > 0 and _wound(case, one.place) is wound]
        if low := [one for one in some if one.value < least]:
            yield _out(case, low, wound=wound, low=True)
        if high := [one for one in some if one.value > most]:
            yield _out(case, high, wound=wound, low=False)


def _range(case: KitCase, *, wound: bool) -> tuple[Decimal, Decimal]:
    least, most = (WOUND_LEAST, WOUND_MOST) if wound else (PLAIN_LEAST, PLAIN_MOST)
    more = case.limit(NYLON_MORE) if case.spec.string_material == "nylon" else Decimal(0)
    return case.limit(least), case.limit(most) + more


def _wound(case: KitCase, string: str) -> bool:
    """Whether a string is wound: a steel one by its gauge, where the set tells it."""
    if case.spec.string_material != "nylon":
        for line in case.lines:
            if isinstance(line.article, Strings) and string in dict(line.article.gauges):
                return float(dict(line.article.gauges)[string]) >= WOUND_FROM_MM
    return string in WOUND.get(case.spec.string_material, WOUND["steel"])


def _touch(case: KitCase, touching: list[Reading]) -> Finding:
    strings = listed([one.place for one in touching])
    return case.stop(
        f"Fret 1 is touched by string {strings}, open: the slot is too low.",
        "Fit a new nut. A filled slot is for seconds only.",
        case.basis(
            (f"Over fret 1, string {strings}", listed([mm(one.value) for one in touching])),
            limit="a gap over fret 1",
        ),
    )


def _out(case: KitCase, some: list[Reading], *, wound: bool, low: bool) -> Finding:
    lower, upper = _range(case, wound=wound)
    least, most = mm(lower), mm(upper)
    strings = listed([one.place for one in some])
    heights = listed([mm(one.value) for one in some])
    if low:
        words = f"Over fret 1, string {strings}: {heights}, less than {least}. It may buzz open."
        then = "Play it open. Where it buzzes, fit a new nut; else say why you go on."
    else:
        words = f"Over fret 1, string {strings}: {heights}, more than {most}. It plays sharp."
        then = "File the slot a little deeper and measure again, or say why you go on."
    limits = (WOUND_LEAST, WOUND_MOST) if wound else (PLAIN_LEAST, PLAIN_MOST)
    nylon = (NYLON_MORE,) if case.spec.string_material == "nylon" else ()
    return case.warn(
        words,
        then,
        case.basis(
            (f"Over fret 1, string {strings}", heights),
            ("Wound" if wound else "Plain", f"{least} to {most}"),
            reckoning=f"{least} to {most}",
            uses=(*limits, *nylon),
        ),
    )


RULES = (clear,)
