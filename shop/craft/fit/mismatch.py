"""An article that is not what the spec asks for, in one fact that is the same or is not."""

from __future__ import annotations

from typing import Any

from shop.craft.finding import Finding
from shop.craft.fit.exchange import exchange, named
from shop.craft.fit.rule import Limit, LineCase


def mismatch(
    case: LineCase[Any],
    words: str,
    has: str,
    needs: str,
    *,
    limit: str = "",
    reckoning: str = "",
    uses: tuple[Limit, ...] = (),
) -> Finding:
    """The stop that says so, with the exchange to make: the article ``has`` one thing, the
    spec ``needs`` another."""
    return case.stop(
        words,
        exchange(case.call, case.article),
        case.basis(
            (named(case.article), has),
            (case.spec.name, needs),
            reckoning=reckoning,
            limit=limit,
            uses=uses,
        ),
        "clerk",
    )
