"""The colour of the metal that shows: R15, and that it came from one lot: R27."""

from __future__ import annotations

from collections.abc import Iterator

from shop.craft.finding import Finding
from shop.craft.fit.exchange import exchange, named
from shop.craft.fit.rule import KitCase, LineCase, rule
from shop.craft.hardware import Article, Metal
from shop.craft.words import listed

LOOK_ALIKE = frozenset({Metal.NICKEL, Metal.CHROME})  # under warm light; common practice


@rule("R15", "Every metal part that shows is of one colour", of=Article, reads=("metal",))
def colour(case: LineCase[Article]) -> Iterator[Finding]:
    """Each visible metal part has the spec's metal, or the one agreed for its line."""
    article, line_wanted = case.article, case.call.line_for(case.article)
    approved = line_wanted.approved_metal if line_wanted else None
    due = approved or case.spec.metal
    if article.metal is None or article.metal is due:
        return
    asks = "the buyer agreed to" if approved else "this guitar's metal is"
    close = {article.metal, due} == LOOK_ALIKE
    alike = " They look alike under warm light: compare at a window." if close else ""
    yield case.stop(
        f"{named(article)} is {article.metal.value}, {asks} {due.value}.{alike}",
        exchange(case.call, article),
        case.basis(
            (named(article), article.metal.value),
            ("Agreed with the buyer" if approved else case.spec.name, due.value),
            limit="the same metal",
        ),
        "clerk",
    )


@rule("R27", "Plated parts of one metal come from one lot", reads=("lot",))
def one_lot(case: KitCase) -> Iterator[Finding]:
    """Plating lots differ in shade, and that shows side by side."""
    lots: dict[Metal, dict[str, list[str]]] = {}
    for line in case.lines:
        if line.article.metal is not None and line.lot:
            of_metal = lots.setdefault(line.article.metal, {})
            of_metal.setdefault(line.plating or line.lot, []).append(line.article.key)
    for metal, found in lots.items():
        if len(found) > 1:
            said = [f"{lot} ({listed(sorted(keys))})" for lot, keys in sorted(found.items())]
            yield case.warn(
                f"{metal.value.capitalize()} parts of {len(found)} lots: {listed(said)}.",
                "Compare them side by side under the light; exchange one, or say they match.",
                case.basis(
                    *((lot, listed(sorted(keys))) for lot, keys in sorted(found.items())),
                    reckoning=f"{len(found)} lots of {metal.value}",
                    limit="one lot for one guitar",
                ),
                "clerk",
            )


RULES = (colour, one_lot)
