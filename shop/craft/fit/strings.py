"""Strings against the guitar they pull on: R23."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import ROUND_UP, Decimal

from shop.craft.finding import Finding
from shop.craft.fit.mismatch import mismatch
from shop.craft.fit.rule import LineCase, rule
from shop.craft.hardware import Strings
from shop.craft.size import plain
from shop.craft.words import THIN, mm, several

TENTH_N = Decimal("0.1")


def tension_at(tension_n: Decimal, at_mm: Decimal, scale_mm: Decimal) -> Decimal:
    """The tension at another scale, in newtons, of strings tuned to the same pitch.

    A string of mass μ per length on the scale L at the frequency f pulls T = 4 · μ · L² · f²;
    with the same string at the same pitch the tension goes with the square of the scale.
    """
    return tension_n * (scale_mm / at_mm) ** 2


@rule(
    "R23",
    "Strings of this guitar's number and material, within what its top bears",
    of=Strings,
    reads=(
        "count",
        "strings",
        "material",
        "string_material",
        "tension_n",
        "at_scale_mm",
        "scale_mm",
        "tension_limit_n",
    ),
    origin="the spec",
)
def suits(case: LineCase[Strings]) -> Iterator[Finding]:
    spec, set_ = case.spec, case.article
    if set_.count != spec.strings:
        yield mismatch(
            case,
            f"{several(set_.count, 'string')} in the set, this guitar has {spec.strings}.",
            several(set_.count, "string"),
            several(spec.strings, "string"),
            reckoning=f"{set_.count} is not {spec.strings}",
            limit="as many strings as the guitar has",
        )
    if set_.material != spec.string_material:
        yield mismatch(
            case,
            f"{set_.key} {set_.name} is {set_.material}, "
            f"this guitar is built for {spec.string_material}.",
            set_.material,
            spec.string_material,
            limit="the same material",
        )
    yield from _pull(case)


def _pull(case: LineCase[Strings]) -> Iterator[Finding]:
    spec, set_ = case.spec, case.article
    pull = Decimal(set_.tension_n)
    has, how = newtons(pull), "as the set is marked"
    if set_.at_scale_mm is not None:
        scale = spec.size("scale_mm").most
        pull = tension_at(pull, set_.at_scale_mm, scale)
        has = f"{newtons(pull)} at {mm(scale)}"
        how = f"({plain(scale)} ÷ {plain(set_.at_scale_mm)})²"
        how = f"{newtons(Decimal(set_.tension_n))} × {how} = {newtons(pull)}"
    if pull <= spec.tension_limit_n:
        return
    most = newtons(Decimal(spec.tension_limit_n))
    yield mismatch(
        case,
        f"{set_.key} {set_.name} pulls {has}; this top is limited to {most}.",
        has,
        f"at most {most}",
        reckoning=how,
        limit=f"at most {most}",
    )


def newtons(force_n: Decimal) -> str:
    """A pull with its unit; rounded up to a tenth, so that it never reads as less than it is."""
    return f"{plain(force_n.quantize(TENTH_N, ROUND_UP))}{THIN}N"


RULES = (suits,)
