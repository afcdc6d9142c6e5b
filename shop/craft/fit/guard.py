"""The pickguard: R22."""

from __future__ import annotations

from collections.abc import Iterator

from shop.craft.finding import Finding
from shop.craft.fit.identity import left_to_count
from shop.craft.fit.mismatch import mismatch
from shop.craft.fit.rule import LineCase, rule
from shop.craft.hardware import Guard, Hand


@rule("R22", "Pickguard of this guitar's hand, or none", of=Guard, reads=("hand", "guard"))
def suits(case: LineCase[Guard]) -> Iterator[Finding]:
    due, has = case.spec.guard, case.article.hand
    if due is None:
        if not left_to_count(case.call, case.article):
            words = f"{case.spec.name} takes no pickguard: {case.article.key} stays off."
            yield mismatch(case, words, has.words, "no pickguard", limit="none where none is due")
    elif Hand.ANY not in (due, has) and has is not due:
        yield mismatch(
            case,
            f"Guard {case.article.key} is {has.words}, this guitar takes a {due.words} one. "
            "Once stuck down it does not come off again.",
            has.words,
            due.words,
            limit="either hand, or this guitar's",
        )


RULES = (suits,)
