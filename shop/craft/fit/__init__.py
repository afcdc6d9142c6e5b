"""Does what lies in this tray belong on this guitar, and why not?

The checks run in the order a person makes them at the bench: whose tray, what it was built
to, count, family, hand, colour, what was ordered; then the measures, against the spec's
dimensions until the wood itself was gauged. A tray of another body is named alone: rules
about the wrong guitar would only confuse.

Each file holds one family of rules and ends with its ``RULES``. Whatever asks more of a
rule than its findings (the desk, the tests) finds it in :data:`RULES`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from functools import lru_cache
from typing import Any, Final

from shop.craft.finding import Finding, worst_first
from shop.craft.fit import (
    bridge,
    case,
    drilling,
    electronics,
    finish,
    guard,
    identity,
    moment,
    nut,
    nut_height,
    peghead,
    pins,
    placing,
    plates,
    posts,
    saddle,
    setting,
    strings,
    tail,
    tuners,
)
from shop.craft.fit.placing import PlacedCase
from shop.craft.fit.rule import KitCase, Limit, LineCase, Rule
from shop.craft.hardware import Article, Call, Picked, SpecFacts, TrayFacts, Wanted

FAMILIES: Final = (
    tuners,
    finish,
    posts,
    peghead,
    plates,
    drilling,
    nut,
    saddle,
    pins,
    tail,
    electronics,
    guard,
    strings,
    case,
    bridge,
    nut_height,
    setting,
)

RULES: Final[dict[str, Rule[Any]]] = {one.id: one for family in FAMILIES for one in family.RULES}
"""Every rule that :func:`check` asks by its id, in the order of the checks.

Not here are what identity says of a whole tray, "tray" to R25; R26, which judges no article
but where each sits: :func:`placed` asks it; and what stands round the work, R33 and R37 to
R40: ``moment.judge`` asks those.
"""

LIMITS: Final[dict[str, Limit]] = {
    limit.name: limit for one in (*RULES.values(), *moment.RULES) for limit in one.limits
}
"""Every limit a lead may set, by name."""

_LINE_RULES: Final[tuple[Rule[Any], ...]] = tuple(one for one in RULES.values() if one.of)
_KIT_RULES: Final[tuple[Rule[Any], ...]] = tuple(one for one in RULES.values() if not one.of)


def check(call: Call, tray: TrayFacts) -> tuple[Finding, ...]:
    """What stands against fitting this tray's parts, worst first; nothing when all is well.

    ``call.kit`` holds the lines that are to lie in the tray. The order of the tray's lines
    does not matter.
    """
    swapped = tuple(identity.whose(call, tray))
    return swapped or worst_first(dict.fromkeys(_against(call, tray)))


def _against(call: Call, tray: TrayFacts) -> Iterator[Finding]:
    yield from identity.built_to(call, tray)
    yield from identity.partial(tray)
    yield from identity.counted(call, tray)
    yield from of_lines(call, tray.lines, missing=tray.missing)


def of_lines(
    call: Call, lines: Iterable[Picked], missing: tuple[Wanted, ...] = ()
) -> Iterator[Finding]:
    """Every fit rule over these lines, whoever's tray or list they are from."""
    ordered = tuple(sorted(lines, key=_place))
    told = [(line.article.key, one) for line in ordered for one in _of_line(call, line)]
    complained = {key for key, _ in told}
    whole = [
        found for one in _KIT_RULES for found in one.judge(KitCase(one, call, ordered, missing))
    ]
    # Every line of one check before the next check, as a person goes through a tray.
    yield from sorted([one for _, one in told] + whole, key=lambda one: _TURN[one.rule])
    if call.kit:
        for line in ordered:
            yield from identity.as_ordered(call, line, complained=line.article.key in complained)


def _of_line(call: Call, line: Picked) -> Iterator[Finding]:
    kind = type(line.article)
    for one in _RULES_OF.get(kind) or _found(kind):
        yield from one.judge(LineCase(one, call, line.article, line))


_TURN: Final[dict[str, int]] = {name: turn for turn, name in enumerate(RULES)}

_RULES_OF: dict[type[Article], tuple[Rule[Any], ...]] = {}


def _found(kind: type[Article]) -> tuple[Rule[Any], ...]:
    """The rules that look at this kind of article, looked up once."""
    return _RULES_OF.setdefault(
        kind, tuple(one for one in _LINE_RULES if one.of and issubclass(kind, one.of))
    )


def kit(spec: SpecFacts, wanted: Iterable[Wanted], lines: Iterable[Picked]) -> tuple[Finding, ...]:
    """What stands against this kit list for this spec: the check of the catalogue.

    ``lines`` are all articles the list names, those for the bench included.
    """
    call = Call(serial="", spec=spec, kit=tuple(wanted))
    return worst_first(dict.fromkeys(of_lines(call, lines)))


def article(spec: SpecFacts, one: Article) -> tuple[Finding, ...]:
    """What stands against this article on a guitar of this spec, whatever was ordered."""
    call = Call(serial="", spec=spec, kit=())
    return worst_first(_of_line(call, Picked(article=one)))


def measured(
    call: Call, lines: Iterable[Picked], quantities: Collection[str]
) -> tuple[Finding, ...]:
    """What the readings of these quantities stand against: the findings of every rule that
    goes by one of them."""
    reading = rules_reading(quantities)
    found = of_lines(call, lines)
    return worst_first(one for one in dict.fromkeys(found) if one.rule in reading)


def placed(call: Call, marks: Mapping[str, str]) -> tuple[Finding, ...]:
    """What stands against the machines where they sit: ``marks`` holds the mark read on
    each machine by the key of its post (``head.Post.key``)."""
    return worst_first(placing.on_its_post.judge(PlacedCase(placing.on_its_post, call, marks)))


def rules_reading(quantities: Collection[str]) -> frozenset[str]:
    """The ids of the rules that go by one of these measured quantities."""
    return _reading(frozenset(quantities))


@lru_cache(maxsize=256)
def _reading(asked: frozenset[str]) -> frozenset[str]:
    return frozenset(one.id for one in RULES.values() if not asked.isdisjoint(one.reads))


def _place(line: Picked) -> tuple[int, str, int, int, str]:
    """A line's place in the order a kit is fitted, whatever order it was picked in."""
    left = -1 if line.left_counted is None else line.left_counted
    right = -1 if line.right_counted is None else line.right_counted
    return line.article.family.rank, line.article.key, left, right, line.lot
