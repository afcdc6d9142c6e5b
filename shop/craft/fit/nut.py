"""The nut against the neck it seats on: R16."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from shop.craft.finding import Finding
from shop.craft.fit.exchange import exchange
from shop.craft.fit.rule import Limit, LineCase, rule
from shop.craft.hardware import Hand, Nut
from shop.craft.words import mm

WIDTH = Limit("R16.width", Decimal("0.10"), "mm", "width either way")

Difference = tuple[str, str, str]  # in words, the nut's, the spec's


@rule(
    "R16",
    "Nut of this neck's width, strings, spread and hand",
    of=Nut,
    reads=("width_mm", "nut_width_mm", "strings", "spread_mm", "nut_spread_mm", "hand"),
    limits=(WIDTH,),
)
def suits(case: LineCase[Nut]) -> Iterator[Finding]:
    """Every way one picked nut differs from the spec. A blank without slots has neither
    spread nor hand, so only a slotted nut is asked for those."""
    nut = case.article
    for words, has, needs in (*_blank(case), *(_slots(case) if nut.slotted else ())):
        yield case.stop(
            words,
            exchange(case.call, nut),
            case.basis((f"Nut {nut.key}", has), (case.spec.name, needs), uses=(WIDTH,)),
            "clerk",
        )


def _blank(case: LineCase[Nut]) -> Iterator[Difference]:
    spec, nut = case.spec, case.article
    apart = nut.size("width_mm") - spec.size("nut_width_mm")
    if max(-apart.least, apart.most) > case.limit(WIDTH):
        has, needs = f"{nut.size('width_mm')} mm", f"{spec.size('nut_width_mm')} mm"
        yield f"Nut {nut.key} is {has} wide, this neck takes {needs}.", has, needs
    if nut.strings != spec.strings:
        has, needs = f"{nut.strings} strings", f"{spec.strings}"
        yield f"Nut {nut.key} is for {has}, this guitar has {needs}.", has, f"{needs} strings"


def _slots(case: LineCase[Nut]) -> Iterator[Difference]:
    spec, nut = case.spec, case.article
    if nut.spread_mm != spec.nut_spread_mm:
        has = "in pairs or flat" if nut.spread_mm is None else mm(nut.spread_mm)
        needs = "pairs or a flat nut" if spec.nut_spread_mm is None else mm(spec.nut_spread_mm)
        yield (
            f"Nut {nut.key} is slotted {has} across the outer strings, this guitar needs {needs}.",
            has,
            needs,
        )
    if nut.hand not in (Hand.ANY, spec.hand):
        has, needs = nut.hand.words, spec.hand.words
        words = f"Nut {nut.key} is slotted {has}, this guitar is {needs}: "
        yield f"{words}the widest slot would lie under string 1.", has, needs


RULES = (suits,)
