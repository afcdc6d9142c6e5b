"""Whose tray this is, what it was built to, and whether what was ordered lies in it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from shop.craft.code import pretty
from shop.craft.finding import Finding, stop, warn
from shop.craft.fit.exchange import named, ordered
from shop.craft.hardware import Call, Family, Picked, TrayFacts, Wanted
from shop.craft.words import several


def whose(call: Call, tray: TrayFacts) -> Iterator[Finding]:
    """Rule "tray": the tray's serial is the body's, even where another's kit would fit."""
    if tray.serial != call.serial:
        yield stop(
            "tray",
            f"Tray {pretty(tray.code)} is for {tray.serial}. "
            f"The body in front of you is {call.serial}.",
            f"Fit nothing from it. Put it back for {tray.serial}, fetch the tray of {call.serial}.",
            "clerk",
        )


def built_to(call: Call, tray: TrayFacts) -> Iterator[Finding]:
    """Rule "revision": the tray was picked to the spec revision this guitar was released with."""
    spec = call.spec
    if (tray.spec, tray.revision) != (spec.key, spec.revision):
        yield stop(
            "revision",
            f"Tray picked to {tray.spec} revision {tray.revision}. This guitar is {spec.name}.",
            f"Give the tray back: the clerk checks it against {spec.name} and closes it again.",
            "clerk",
        )


def partial(tray: TrayFacts) -> Iterator[Finding]:
    """Rule "missing": lines the clerk noted as short, by name."""
    if tray.missing:
        lines = sorted(tray.missing, key=lambda line: (line.family.rank, line.key))
        names = "; ".join(f"{line.key} {line.name}" for line in lines)
        yield warn(
            "missing",
            f"PARTIAL tray, {several(len(lines), 'line')} still to come: {names}.",
            "Go on only with work that needs none of these, and say why you do.",
            "clerk",
        )


def counted(call: Call, tray: TrayFacts) -> Iterator[Finding]:
    """Rule "count": of each family as many as the list asks for, shorts noted, nothing extra."""
    wanted = _totals(call.kit)
    short = _totals(tray.missing)
    picked: Counter[Family] = Counter()
    keys: dict[Family, set[str]] = {}
    for line in tray.lines:
        picked[line.article.family] += line.quantity
        keys.setdefault(line.article.family, set()).add(line.article.key)
    for family in Family:
        has, needs = picked[family], wanted[family]
        name = family.words.capitalize()
        inside = f"{has} in the tray" + (f" ({', '.join(sorted(keys[family]))})" if has else "")
        if has > needs:
            yield stop(
                "count",
                f"{name}: {inside}, {needs} on this guitar's list.",
                "Give the extra back to the clerk, who closes the tray again.",
                "clerk",
            )
        elif has + short[family] < needs:
            yield stop(
                "count",
                f"{name}: {inside}, {needs} on this guitar's list and not noted as short.",
                "The clerk adds what is missing, or notes it on the tray label as short.",
                "clerk",
            )


def as_ordered(call: Call, line: Picked, complained: bool) -> Iterator[Finding]:
    """R25: the article stands on this guitar's list or is an approved substitute.

    ``complained`` tells whether a fit rule already spoke against it; if none did, it may
    well go on, and that is the danger. A family this guitar does not take at all is left
    to the count, which says so already.
    """
    article = line.article
    wanted = call.line_for(article)
    if wanted is None or wanted.allows(article.key):
        return
    asked = ordered(call, article)
    words = (
        f"{named(article)} is also not what was ordered: {asked}."
        if complained
        else f"{named(article)} may fit, but it is not what was ordered: {asked}."
    )
    yield stop(
        "R25",
        words,
        f"Give it back and take {wanted.key}, or ask the lead to approve it in writing.",
    )


def _totals(lines: Iterable[Wanted]) -> Counter[Family]:
    totals: Counter[Family] = Counter()
    for line in lines:
        totals[line.family] += line.quantity
    return totals
