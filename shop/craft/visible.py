"""What of an exchange of hardware the buyer will see, and so is asked about first.

The metal, the buttons and the ratio of the machines, the make of the pins. Common practice,
no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from shop.craft.hardware import Article, Pins, TunerSet
from shop.craft.size import plain
from shop.craft.words import mm


def changes(out: Article, into: Article) -> tuple[str, ...]:
    """What shows when ``into`` stands in the place of ``out``, each in words; nothing where
    nobody could tell.

    >>> from decimal import Decimal
    >>> bone = Pins(key="P01", name="bone pins", count=6, taper_deg=Decimal(3),
    ...             collar_mm=Decimal("5.4"), slotted=True)
    >>> ebony = Pins(key="P04", name="ebony pins", count=6, taper_deg=Decimal(3),
    ...              collar_mm=Decimal("5.4"), slotted=True)
    >>> changes(bone, ebony)
    ('bone pins become ebony pins',)
    """
    return tuple(_changes(out, into))


def _changes(out: Article, into: Article) -> Iterator[str]:
    if out.metal is not into.metal:
        before, after = (one.metal.value if one.metal else "no metal" for one in (out, into))
        yield f"{before} becomes {after}"
    if isinstance(out, TunerSet) and isinstance(into, TunerSet):
        if out.button_width_mm != into.button_width_mm:
            yield f"buttons of {mm(out.button_width_mm)} become {mm(into.button_width_mm)} wide"
        if out.ratios != into.ratios:
            yield f"the ratio {'/'.join(out.ratios)} becomes {'/'.join(into.ratios)}"
    if isinstance(out, Pins) and isinstance(into, Pins):
        if out.name != into.name:  # what they are of is told by their name alone
            yield f"{out.name} become {into.name}"
        elif out.taper_deg != into.taper_deg:
            yield f"pins of {plain(out.taper_deg)}° become pins of {plain(into.taper_deg)}°"
