"""The nut against the neck it seats on: R16."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from shop.craft.finding import Finding, stop
from shop.craft.fit.exchange import exchange
from shop.craft.hardware import Call, Hand, Nut, Picked
from shop.craft.words import mm

WIDTH_TOLERANCE_MM = Decimal("0.10")  # either way; common practice


def findings(call: Call, line: Picked) -> Iterator[Finding]:
    """Every way one picked nut differs from the spec: width, strings, spread, hand."""
    nut = line.article
    if isinstance(nut, Nut):
        for words in (*_blank(call, nut), *(_slots(call, nut) if nut.slotted else ())):
            yield stop("R16", words, exchange(call, nut), "clerk")


def _blank(call: Call, nut: Nut) -> Iterator[str]:
    spec = call.spec
    if abs(nut.width_mm - spec.nut_width_mm) > WIDTH_TOLERANCE_MM:
        yield f"Nut {nut.key} is {mm(nut.width_mm)} wide, this neck takes {mm(spec.nut_width_mm)}."
    if nut.strings != spec.strings:
        yield f"Nut {nut.key} is for {nut.strings} strings, this guitar has {spec.strings}."


def _slots(call: Call, nut: Nut) -> Iterator[str]:
    """A blank without slots has neither spread nor hand, so only a slotted nut is asked."""
    spec = call.spec
    if nut.spread_mm != spec.nut_spread_mm:
        has = "in pairs or flat" if nut.spread_mm is None else mm(nut.spread_mm)
        needs = "pairs or a flat nut" if spec.nut_spread_mm is None else mm(spec.nut_spread_mm)
        yield f"Nut {nut.key} is slotted {has} across the outer strings, this guitar needs {needs}."
    if nut.hand not in (Hand.ANY, spec.hand):
        yield (
            f"Nut {nut.key} is slotted {nut.hand.words}, this guitar is {spec.hand.words}: "
            "the widest slot would lie under string 1."
        )
