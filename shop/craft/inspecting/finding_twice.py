"""What two looks find that one does not, and what the first let through.

One trained inspector misses a share of what is there; two who look without knowing what the
other found miss the product of their shares.
"""

from __future__ import annotations

from shop.craft.formula import COMMON, Symbol, formula


@formula(
    "found-twice",
    "Found by one of two looks",
    "P = 1 \u2212 (1 \u2212 p)²",
    Symbol("p", "share", "share that one look finds", ""),
    Symbol("P", "", "share that at least one of two looks finds", ""),
    source="arithmetic of independent events: both have to miss it",
    given={"share": 0.77},
    places=3,
)
def found_twice(share: float) -> float:
    """The share of defects found by at least one of two looks, where each finds ``share`` by
    itself and neither knows what the other found. Raises ``ValueError`` for what is no share.

    >>> round(found_twice(0.77), 3)
    0.947
    """
    if not 0 <= share <= 1:
        raise ValueError(f"share is {share!r}: it lies between 0 and 1")
    return 1 - (1 - share) ** 2


@formula(
    "escape-rate",
    "What the first look let through",
    "e = n / m",
    Symbol("n", "escaped", "found at the second look, and there at the first", ""),
    Symbol("m", "inspected", "inspected twice", ""),
    Symbol("e", "", "escapes for each one inspected", ""),
    source=COMMON,
    given={"escaped": 3, "inspected": 120},
    places=3,
)
def escape_rate(escaped: int, inspected: int) -> float:
    """Escapes for each instrument inspected twice; one instrument may have several. Raises
    ``ValueError`` where none was inspected, or fewer than none escaped.

    >>> escape_rate(3, 120)
    0.025
    """
    if inspected <= 0:
        raise ValueError(f"inspected is {inspected!r}: it has to be above zero")
    if escaped < 0:
        raise ValueError(f"escaped is {escaped!r}: it cannot be below zero")
    return escaped / inspected
