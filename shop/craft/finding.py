"""A finding: what a rule has to say about one instrument, in words a person can act on.

The same sentence stands on the phone, on paper, in the journal and in an answer to a
programme. A rule never returns a bare yes or no: it returns nothing (all is well) or
findings, each with the numbers that led to it and the next step.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from enum import StrEnum
from typing import Any, Literal

Whom = Literal["clerk", "lead", ""]


class Severity(StrEnum):
    """How far a finding reaches, worst first."""

    STOP = "stop"  # the step cannot be recorded until this is resolved
    WARN = "warn"  # the person records it with a reason
    NOTE = "note"  # shown, nothing to do


RANK = {Severity.STOP: 0, Severity.WARN: 1, Severity.NOTE: 2}


FindingRow = dict[str, Any]
"""A finding as plain data, the form the journal keeps."""


@dataclass(frozen=True, slots=True)
class Basis:
    """What a finding rests on, for whoever asks why.

    ``title`` says what the rule looks at, ``sides`` are the things compared, each with its
    value, ``reckoning`` is the arithmetic with its result, ``limit`` what is allowed and
    ``origin`` whose limit that is.
    """

    title: str
    sides: tuple[tuple[str, str], ...] = ()
    reckoning: str = ""
    limit: str = ""
    origin: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a rule found.

    ``rule`` is the rule's id ("R05"), ``words`` says what is so, numbers first,
    ``then`` the next step, ``call`` who can help ("clerk", "lead" or nobody). ``basis`` is
    there wherever a fit rule spoke.
    """

    rule: str
    severity: Severity
    words: str
    then: str
    call: Whom = ""
    basis: Basis | None = None

    def row(self) -> FindingRow:
        row: FindingRow = {
            "rule": self.rule,
            "severity": self.severity.value,
            "words": self.words,
            "then": self.then,
            "call": self.call,
        }
        if self.basis is not None:
            row["basis"] = asdict(self.basis)
        return row

    @classmethod
    def of_row(cls, row: Mapping[str, Any]) -> Finding:
        """The finding that was kept as this row."""
        kept = row.get("basis")
        basis = None
        if kept:
            sides = tuple((name, value) for name, value in kept["sides"])
            basis = Basis(kept["title"], sides, kept["reckoning"], kept["limit"], kept["origin"])
        severity = Severity(row["severity"])
        return cls(row["rule"], severity, row["words"], row["then"], row["call"], basis)


def stop(
    rule: str, words: str, then: str, call: Whom = "lead", basis: Basis | None = None
) -> Finding:
    return Finding(rule, Severity.STOP, words, then, call, basis)


def warn(rule: str, words: str, then: str, call: Whom = "", basis: Basis | None = None) -> Finding:
    return Finding(rule, Severity.WARN, words, then, call, basis)


def note(
    rule: str, words: str, then: str = "", call: Whom = "", basis: Basis | None = None
) -> Finding:
    return Finding(rule, Severity.NOTE, words, then, call, basis)


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings, stops before warnings before notes, otherwise in the order found."""
    return tuple(sorted(findings, key=lambda one: RANK[one.severity]))


def any_stop(findings: Iterable[Finding]) -> bool:
    return any(one.severity is Severity.STOP for one in findings)


def any_warn(findings: Iterable[Finding]) -> bool:
    return any(one.severity is Severity.WARN for one in findings)
