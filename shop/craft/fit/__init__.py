"""Does what lies in this tray belong on this guitar?

The checks run in the order a person makes them at the bench: whose tray, what it was built
to, count, family, hand, colour, and last whether it is what was ordered. A tray of another
body is named alone: rules about the wrong guitar would only confuse.
"""

from __future__ import annotations

from collections.abc import Iterator

from shop.craft.finding import Finding, worst_first
from shop.craft.fit import finish, identity, nut, tuners
from shop.craft.hardware import Call, Picked, TrayFacts

FAMILY_RULES = (tuners.findings, nut.findings, finish.findings)


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
    lines = sorted(tray.lines, key=_place)
    complained: set[str] = set()
    for rule in FAMILY_RULES:
        for line in lines:
            for finding in rule(call, line):
                complained.add(line.article.key)
                yield finding
    for line in lines:
        yield from identity.as_ordered(call, line, complained=line.article.key in complained)


def _place(line: Picked) -> tuple[int, str, int, int]:
    """A line's place in the order a kit is fitted, whatever order it was picked in."""
    left = -1 if line.left_counted is None else line.left_counted
    right = -1 if line.right_counted is None else line.right_counted
    return line.article.family.rank, line.article.key, left, right
