"""What a paper says that may change, held against what is so now."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from shop.craft.words import listed

Stands = tuple[tuple[str, str], ...]
"""What a paper says that may change: pairs of what and how. The same what may come again."""


def changed(then: Stands, now: Stands) -> Iterator[str]:
    """What differs, a sentence each, in the order in which it would be printed now."""
    whats = dict.fromkeys(what for what, _ in (*now, *then))
    for what in whats:
        old = [how for its, how in then if its == what]
        new = [how for its, how in now if its == what]
        if old == new:
            continue
        name = what[:1].upper() + what[1:]
        if len(old) == len(new) == 1:
            yield f"{name} {new[0]}, on paper {old[0]}."
            continue
        # In another order it says the same.
        if come := [*(Counter(new) - Counter(old)).elements()]:
            yield f"{name} added: {listed(come)}."
        if gone := [*(Counter(old) - Counter(new)).elements()]:
            yield f"{name} no longer: {listed(gone)}."
