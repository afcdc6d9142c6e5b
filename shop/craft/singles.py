"""Sets of machines broken into singles, and singles made into a set again.

A set is one only with all of its machines, its screws and a spare, its bushings, all out of
one lot. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from shop.craft.hardware import Bushing, TunerSet

SETS_A_SPARE: Final = 20  # one single machine is kept for each so many sets of a lot, for repair


@dataclass(frozen=True, slots=True)
class Laid:
    """What somebody saw who laid a set out on the table: each question answered yes or no.

    ``strings``: of a set whose machines are marked, one lies there for each string.
    """

    machines: bool = False
    screws: bool = False
    bushings: bool = False
    one_lot: bool = False
    strings: bool = False


QUESTIONS: Final[dict[str, str]] = {
    "machines": "All {left} left and {right} right machines are there",
    "strings": "Each string has its own machine, read off the marks",
    "screws": "All screws and 1 spare are there",
    "bushings": "All {posts} bushings are there",
    "one_lot": "All of it is of one lot",
}


def questions(of: TunerSet) -> dict[str, str]:
    """What is asked of a set before it counts as one again, in words, by the field of ``Laid``."""
    asked = {
        name: words.format(left=of.left, right=of.right, posts=of.posts)
        for name, words in QUESTIONS.items()
    }
    if not of.marked:
        del asked["strings"]
    if of.bushing is Bushing.NONE:
        del asked["bushings"]
    return asked


def lacks(of: TunerSet, laid: Laid) -> tuple[str, ...]:
    """What keeps it from being a set, in words; nothing for a whole one."""
    return tuple(_lacks(of, laid))


def _lacks(of: TunerSet, laid: Laid) -> Iterator[str]:
    asked = questions(of)
    if not laid.machines:
        yield f"machines: {of.left} left and {of.right} right belong to it"
    if "strings" in asked and not laid.strings:
        yield "one machine for each string"
    if not laid.screws:
        yield "screws and 1 spare"
    if "bushings" in asked and not laid.bushings:
        yield f"{of.posts} bushings"
    if not laid.one_lot:
        yield "one lot for all of it"


def spares_wanted(sets: int) -> int:
    """How many singles of a lot are to be kept for repair, of so many sets that came in.

    >>> [spares_wanted(sets) for sets in (0, 1, 20, 21)]
    [0, 1, 1, 2]
    """
    return -(-sets // SETS_A_SPARE)
