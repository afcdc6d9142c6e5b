"""Whose tray this is, what it was built to, and whether what was ordered lies in it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from shop.craft.code import pretty
from shop.craft.finding import Basis, Finding, stop, warn
from shop.craft.fit.exchange import named, ordered
from shop.craft.fit.rule import LineCase, rule
from shop.craft.hardware import Article, Call, Family, Picked, TrayFacts, Wanted
from shop.craft.words import several

RELEASE = "this guitar's release"  # whose word decides what tray and revision are right
LIST = "this guitar's list"


def whose(call: Call, tray: TrayFacts) -> Iterator[Finding]:
    """Rule "tray": the tray's serial is the body's, even where another's kit would fit."""
    if tray.serial != call.serial:
        yield stop(
            "tray",
            f"Tray {pretty(tray.code)} is for {tray.serial}. "
            f"The body in front of you is {call.serial}.",
            f"Fit nothing from it. Put it back for {tray.serial}, fetch the tray of {call.serial}.",
            "clerk",
            Basis(
                "Tray of this body",
                ((f"Tray {pretty(tray.code)}", tray.serial), ("Body", call.serial)),
                limit="the same serial",
                origin=RELEASE,
            ),
        )


def built_to(call: Call, tray: TrayFacts) -> Iterator[Finding]:
    """Rule "revision": the tray was picked to the spec revision this guitar was released with."""
    spec = call.spec
    if (tray.spec, tray.revision) != (spec.key, spec.revision):
        picked_to = f"{tray.spec} revision {tray.revision}"
        yield stop(
            "revision",
            f"Tray picked to {picked_to}. This guitar is {spec.name}.",
            f"Give the tray back: the clerk checks it against {spec.name} and closes it again.",
            "clerk",
            Basis(
                "Tray picked to the spec this guitar is built to",
                (("Tray", picked_to), ("Guitar", spec.name)),
                limit="the same spec and revision",
                origin=RELEASE,
            ),
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
            Basis(
                "Every line of the list in the tray",
                (
                    ("In the tray", several(len(tray.lines), "line")),
                    ("Noted as short", ", ".join(line.key for line in lines)),
                ),
                limit="nothing noted as short",
                origin=LIST,
            ),
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
        has, needs, noted = picked[family], wanted[family], short[family]
        if needs - noted <= has <= needs:
            continue
        inside = f"{has} in the tray" + (f" ({', '.join(sorted(keys[family]))})" if has else "")
        words = f"{family.words.capitalize()}: {inside}, {needs} on this guitar's list"
        if has > needs:
            words, then = (
                f"{words}.",
                "Give the extra back to the clerk, who closes the tray again.",
            )
        else:
            words = f"{words} and not noted as short."
            then = "The clerk adds what is missing, or notes it on the tray label as short."
        yield stop("count", words, then, "clerk", _count_basis(family, has, needs, noted))


def _count_basis(family: Family, has: int, needs: int, noted: int) -> Basis:
    name = family.words.capitalize()
    return Basis(
        "As many of each family as the list asks for",
        (
            (f"{name} in the tray", f"{has}"),
            (f"{name} on the list", f"{needs}"),
            ("Noted as short", f"{noted}"),
        ),
        reckoning=f"{has} is more than {needs}" if has > needs else f"{has} + {noted} < {needs}",
        limit="as many as the list asks for, shorts noted",
        origin=LIST,
    )


def is_ordered(call: Call, article: Article) -> bool:
    """Whether this guitar's list asks for this very article, or allows it as a substitute."""
    wanted = call.line_for(article)
    return wanted is not None and wanted.allows(article.key)


def left_to_count(call: Call, article: Article) -> bool:
    """Whether the guitar's list has nothing of this family: then the count stops the article
    already, and a rule that says the same would only repeat it."""
    return bool(call.kit) and call.line_for(article) is None


@dataclass(slots=True)
class OrderedCase(LineCase[Article]):
    """One article against what was ordered. ``complained`` tells whether a fit rule already
    spoke against it; if none did, it may well go on, and that is the danger."""

    complained: bool


@rule(
    "R25",
    "What was ordered, or an approved substitute",
    of=Article,
    reads=("key",),
    origin=LIST,
)
def listed_article(case: OrderedCase) -> Iterator[Finding]:
    """A family this guitar does not take at all is left to the count, which says so already."""
    article, wanted = case.article, case.call.line_for(case.article)
    if wanted is None:
        return
    if not wanted.allows(article.key):
        yield _not_ordered(case, wanted)
    elif approval := dict(wanted.approvals).get(article.key):
        words = f"{article.key} in place of {wanted.key}. Approved: {_sentence(approval)}"
        yield case.note(words, "", _order_basis(case, wanted, approval))
    elif wanted.agreed:
        words = f"{article.key} as agreed: {_sentence(wanted.agreed)}"
        yield case.note(words, "", _order_basis(case, wanted, wanted.agreed))


def _not_ordered(case: OrderedCase, wanted: Wanted) -> Finding:
    asked = ordered(case.call, case.article)
    so_far = "is also" if case.complained else "may fit, but it is"
    return case.stop(
        f"{named(case.article)} {so_far} not what was ordered: {asked}.",
        f"Give it back and take {wanted.key}, or ask the lead to approve it in writing.",
        _order_basis(case, wanted, LIST),
    )


def _order_basis(case: OrderedCase, wanted: Wanted, origin: str) -> Basis:
    basis = case.basis(
        ("What lies here", named(case.article)),
        ("What was ordered", f"{wanted.key} {wanted.name}"),
        limit="the article ordered, or an approved substitute",
    )
    return replace(basis, origin=origin)


def _sentence(words: str) -> str:
    return f"{words.rstrip('. ')}."


def as_ordered(call: Call, line: Picked, complained: bool) -> Iterator[Finding]:
    """R25 over one line: see :class:`OrderedCase`."""
    return listed_article.judge(
        OrderedCase(listed_article, call, line.article, line, complained=complained)
    )


def _totals(lines: Iterable[Wanted]) -> Counter[Family]:
    totals: Counter[Family] = Counter()
    for line in lines:
        totals[line.family] += line.quantity
    return totals
