"""A finding: what a rule has to say about one instrument, in words a person can act on.

The same sentence stands on the phone, on paper, in the journal and in an answer to a
programme. A rule never returns a bare yes or no: it returns nothing (all is well) or
findings, each with the numbers that led to it and the next step.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal, TypedDict

Whom = Literal["clerk", "lead", ""]


class Severity(StrEnum):
    """How far a finding reaches, worst first."""

    STOP = "stop"  # the step cannot be recorded until this is resolved
    WARN = "warn"  # the person records it with a reason
    NOTE = "note"  # shown, nothing to do


RANK = {Severity.STOP: 0, Severity.WARN: 1, Severity.NOTE: 2}


class FindingRow(TypedDict):
    """A finding as plain data, the form the journal keeps."""

    rule: str
    severity: str
    words: str
    then: str
    call: str


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a rule found.

    ``rule`` is the rule's id ("R05"), ``words`` says what is so, numbers first,
    ``then`` the next step, ``call`` who can help ("clerk", "lead" or nobody).
    """

    rule: str
    severity: Severity
    words: str
    then: str
    call: Whom = ""

    def row(self) -> FindingRow:
        return {
            "rule": self.rule,
            "severity": self.severity.value,
            "words": self.words,
            "then": self.then,
            "call": self.call,
        }


def stop(rule: str, words: str, then: str, call: Whom = "lead") -> Finding:
    return Finding(rule, Severity.STOP, words, then, call)


def warn(rule: str, words: str, then: str, call: Whom = "") -> Finding:
    return Finding(rule, Severity.WARN, words, then, call)


def note(rule: str, words: str, then: str = "", call: Whom = "") -> Finding:
    return Finding(rule, Severity.NOTE, words, then, call)


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings, stops before warnings before notes, otherwise in the order found."""
    return tuple(sorted(findings, key=lambda one: RANK[one.severity]))


def any_stop(findings: Iterable[Finding]) -> bool:
    return any(one.severity is Severity.STOP for one in findings)


def any_warn(findings: Iterable[Finding]) -> bool:
    return any(one.severity is Severity.WARN for one in findings)
