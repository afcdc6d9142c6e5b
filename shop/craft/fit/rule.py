"""What a rule is, and what it is given to judge.

A rule is declared beside its judge: ``@rule("R06", "Press-in bushing in its hole", ...)``.
The judge takes a case, yields findings, and yields nothing when all is well. A limit is
declared once with its default; a lead may set another for a spec revision, and every
finding says which limit it used and whose it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Any, Final, Generic, TypeVar

from shop.craft.finding import Basis, Finding, Severity, Whom
from shop.craft.hardware import Article, Call, Picked, SpecFacts, Wanted
from shop.craft.size import plain
from shop.craft.words import THIN

COMMON: Final = "common practice"


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit of a rule, by default. ``name`` is the rule's id and a word: ``R06.least``.

    ``words`` complete the sentence "the limit is": "least press 0.02 mm".
    """

    name: str
    value: Decimal
    unit: str
    words: str
    origin: str = COMMON

    def said(self, value: Decimal) -> str:
        return f"{self.words} {plain(value)}{THIN}{self.unit}".strip()


@dataclass(slots=True)
class Case:
    """One rule and one guitar: what every judge is given."""

    rule: Rule[Any]
    call: Call

    @property
    def spec(self) -> SpecFacts:
        return self.call.spec

    def limit(self, limit: Limit) -> Decimal:
        """The limit in force for this spec revision."""
        for name, changed in self.call.spec.limits:
            if name == limit.name:
                return changed.value
        return limit.value

    def basis(
        self,
        *sides: tuple[str, str],
        reckoning: str = "",
        limit: str = "",
        uses: tuple[Limit, ...] = (),
    ) -> Basis:
        """What a finding rests on: the things compared with their values, the arithmetic,
        and the limits the judge went by; ``limit`` in words where there is no number to it."""
        if not self.call.spec.limits:
            said, origin = _by_default(uses)
            said, origin = limit or said, origin or self.rule.origin
            return Basis(self.rule.title, sides, reckoning, said, origin)
        said = limit or "; ".join(one.said(self.limit(one)) for one in uses)
        return Basis(self.rule.title, sides, reckoning, said, self._origin(uses))

    def stop(self, words: str, then: str, basis: Basis, call: Whom = "lead") -> Finding:
        """The step must not be done."""
        return Finding(self.rule.id, Severity.STOP, words, then, call, basis)

    def warn(self, words: str, then: str, basis: Basis, call: Whom = "") -> Finding:
        """The step may be done with a reason."""
        return Finding(self.rule.id, Severity.WARN, words, then, call, basis)

    def note(self, words: str, then: str, basis: Basis) -> Finding:
        """Worth knowing; nothing to do."""
        return Finding(self.rule.id, Severity.NOTE, words, then, "", basis)

    def _origin(self, uses: tuple[Limit, ...]) -> str:
        """Whose the limits are; a limit that a lead set is named before the usual ones."""
        names = {one.name for one in uses}
        changed = [
            f"{name} set by {one.by} on {one.on.isoformat()} for {self.spec.name}: {one.why}"
            for name, one in self.call.spec.limits
            if name in names
        ]
        usual = {one.origin for one in uses if one.name not in dict(self.call.spec.limits)}
        return "; ".join([*changed, *sorted(usual)]) or self.rule.origin


@lru_cache(maxsize=256)
def _by_default(uses: tuple[Limit, ...]) -> tuple[str, str]:
    """These limits and their origins in words, where a lead has changed none."""
    origins = sorted({one.origin for one in uses})
    return "; ".join(one.said(one.value) for one in uses), "; ".join(origins)


A = TypeVar("A", bound=Article)


@dataclass(slots=True)
class LineCase(Case, Generic[A]):
    """One article against one guitar."""

    article: A
    line: Picked


@dataclass(slots=True)
class KitCase(Case):
    """All that lies in a tray, or all that stands on a kit list, against one guitar."""

    lines: tuple[Picked, ...]
    missing: tuple[Wanted, ...] = ()


C = TypeVar("C", bound=Case)
Judge = Callable[[C], Iterator[Finding]]


@dataclass(frozen=True, slots=True)
class Rule(Generic[C]):
    """One rule: ``reads`` names the dimensions (``bushing_od_mm``) and the measured
    quantities (``hole``) it goes by, ``of`` the kind of article it looks at, if one."""

    id: str
    title: str
    judge: Judge[C]
    reads: tuple[str, ...]
    limits: tuple[Limit, ...]
    of: type[Article] | None
    origin: str


def rule(
    id: str,  # noqa: A002 - what a rule's number is called
    title: str,
    *,
    reads: tuple[str, ...],
    limits: tuple[Limit, ...] = (),
    of: type[Article] | None = None,
    origin: str = COMMON,
) -> Callable[[Judge[C]], Rule[C]]:
    """Declare the judge below as a rule."""

    def declared(judge: Judge[C]) -> Rule[C]:
        return Rule(id, title, judge, reads, limits, of, origin)

    return declared
