"""The colour of the metal that shows: R15."""

from __future__ import annotations

from collections.abc import Iterator

from shop.craft.finding import Finding, stop
from shop.craft.fit.exchange import exchange, named
from shop.craft.hardware import Call, Metal, Picked

LOOK_ALIKE = frozenset({Metal.NICKEL, Metal.CHROME})  # under warm light; common practice


def findings(call: Call, line: Picked) -> Iterator[Finding]:
    """R15: each visible metal part has the spec's metal, or the one agreed for its line."""
    article, line_wanted = line.article, call.line_for(line.article)
    approved = line_wanted.approved_metal if line_wanted else None
    due = approved or call.spec.metal
    if article.metal is None or article.metal is due:
        return
    asks = "the buyer agreed to" if approved else "this guitar's metal is"
    close = {article.metal, due} == LOOK_ALIKE
    alike = " They look alike under warm light: compare at a window." if close else ""
    yield stop(
        "R15",
        f"{named(article)} is {article.metal.value}, {asks} {due.value}.{alike}",
        exchange(call, article),
        "clerk",
    )
