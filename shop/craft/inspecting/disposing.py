"""What becomes of a defect: what each class allows, who decides, and who signs beside them.

Which class allows what, and that two people decide about the two worst, is common practice,
no source. A screen offers all of ``choices`` in one order, so that a thumb learns the places,
and says of those that are not possible why.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from shop.craft.clocks.spans import TOUCH_UP
from shop.craft.finding import Finding, note, stop, worst_first
from shop.craft.inspecting.classes import DefectClass
from shop.craft.when import span_words
from shop.craft.words import listed


class Disposition(StrEnum):
    """What becomes of a defect, in the order in which it is offered."""

    REWORK = "rework"
    TOUCH_UP = "touch-up"
    ACCEPT = "accept as is"
    SECONDS = "seconds"
    RETURN = "return"
    HOLD = "hold for decision"
    SCRAP = "scrap"
    CANNIBALISE = "cannibalise"

    @property
    def words(self) -> str:
        """What its button says.

        >>> Disposition("accept as is").words
        'Accept as is'
        """
        return WORDS[self]


WORDS: Final[dict[Disposition, str]] = {
    Disposition.REWORK: "Rework",
    Disposition.TOUCH_UP: "Touch-up",
    Disposition.ACCEPT: "Accept as is",
    Disposition.SECONDS: "Sell as seconds",
    Disposition.RETURN: "Return to the neck or body department",
    Disposition.HOLD: "Hold for decision",
    Disposition.SCRAP: "Scrap",
    Disposition.CANNIBALISE: "Scrap and keep its parts",
}

_BAD: Final = frozenset({DefectClass.CRITICAL, DefectClass.MAJOR})
_SLIGHT: Final = frozenset({DefectClass.MINOR, DefectClass.NOTE})

ALLOWED: Final[dict[Disposition, frozenset[DefectClass]]] = {
    Disposition.REWORK: _BAD,
    Disposition.TOUCH_UP: _SLIGHT,
    Disposition.ACCEPT: _SLIGHT,
    Disposition.SECONDS: frozenset({DefectClass.MAJOR, DefectClass.MINOR}),
    Disposition.RETURN: _BAD,
    Disposition.HOLD: _BAD | {DefectClass.MINOR},
    Disposition.SCRAP: frozenset({DefectClass.CRITICAL}),
    Disposition.CANNIBALISE: frozenset({DefectClass.CRITICAL}),
}
"""Of which classes each may be decided; common practice, no source."""

SENT: Final = frozenset({Disposition.REWORK, Disposition.TOUCH_UP})
"""Those that send the instrument on a loop."""

APPROVED: Final = frozenset({Disposition.SECONDS, Disposition.SCRAP, Disposition.CANNIBALISE})
"""Those that only somebody who may approve decides."""

DEPARTMENTS: Final = ("neck", "body")
"""What supplies this shop."""


@dataclass(frozen=True, slots=True)
class Decider:
    """Whoever decides, by badge. ``may_accept``: class 3 as it is; ``may_approve``: seconds,
    scrap and the use of its parts. A lead may both, and with a lead beside them anybody."""

    code: str
    may_accept: bool = False
    may_approve: bool = False


@dataclass(frozen=True, slots=True)
class Decision:
    """What is to become of one defect.

    ``second`` is the badge that signs beside ``by``, "" for nobody; ``loop`` the key of the
    rework loop where it is sent on one; ``department`` "neck" or "body" where it is returned.
    """

    disposition: Disposition
    defect_class: DefectClass
    reason: str
    by: Decider
    second: str = ""
    loop: str = ""
    department: str = ""


@dataclass(frozen=True, slots=True)
class Choice:
    """One disposition as it is offered: ``why_not`` is ``None`` where it is possible."""

    disposition: Disposition
    why_not: Finding | None

    @property
    def possible(self) -> bool:
        return self.why_not is None


def choices(
    defect_class: DefectClass, by: Decider | None = None, *, joined: bool = False
) -> tuple[Choice, ...]:
    """Every disposition in the order offered, each with why it is not possible.

    ``joined``: the pocket is cut for this neck. Without ``by``, as for somebody who may all.

    >>> [one.disposition.value for one in choices(DefectClass.NOTE) if one.possible]
    ['touch-up', 'accept as is']
    """
    who = by or Decider("", may_accept=True, may_approve=True)
    return tuple(Choice(one, _why_not(one, defect_class, who, joined)) for one in Disposition)


def judge(
    decision: Decision,
    *,
    found_by: str,
    joined: bool,
    cased: bool,
    keeps_hold: bool = False,
    electronics: bool = False,
    pinned: bool = True,
) -> tuple[Finding, ...]:
    """What stands against a decision, and what it brings about, worst first.

    ``found_by`` is the badge that found the defect. ``joined``: the pocket is cut for this
    neck. ``cased``: its days in the case have begun. ``keeps_hold``: on the loop chosen the
    strings stay at pitch. ``electronics``: the instrument has some. ``pinned``: its strings are
    held by pins, not tied.
    """
    refused = _why_not(decision.disposition, decision.defect_class, decision.by, joined)
    stops = (
        *((refused,) if refused else ()),
        *_incomplete(decision),
        *_signed(decision, found_by),
    )
    return stops or worst_first(_brings(decision, joined, cased, keeps_hold, electronics, pinned))


def _why_not(
    disposition: Disposition, defect_class: DefectClass, by: Decider, joined: bool
) -> Finding | None:
    if defect_class not in ALLOWED[disposition]:
        return _of_class(disposition, defect_class)
    if disposition is Disposition.RETURN and joined:
        return stop(
            "department",
            "The pocket is cut for this neck: the 2 are a pair, and neither goes back alone.",
            "Send it to rework, or hold it for the lead.",
        )
    if disposition is Disposition.ACCEPT and defect_class is DefectClass.MINOR:
        return None if by.may_accept else _lead_only("A lead accepts class 3 as it is.")
    if disposition in APPROVED and not by.may_approve:
        return _lead_only(
            "A lead approves seconds."
            if disposition is Disposition.SECONDS
            else "A lead decides to scrap."
        )
    return None


def _lead_only(words: str) -> Finding:
    return stop("right", words, "Have a lead sign beside you, or hold it for decision.")


def _of_class(disposition: Disposition, defect_class: DefectClass) -> Finding:
    """Why a class does not allow it, with what it does allow."""
    match disposition:
        case Disposition.REWORK:
            words = f"Class {defect_class.value} is too slight for rework: that is for 1 and 2."
        case Disposition.TOUCH_UP:
            words = f"Class {defect_class.value} is not touched up: that is for 3 and 4."
        case Disposition.ACCEPT:
            words = f"Class {defect_class.value} is not accepted: that is for 3 and 4."
        case Disposition.SECONDS:
            words = f"Class {defect_class.value} is not sold as seconds: that is for 2 and 3."
        case Disposition.RETURN:
            words = f"Class {defect_class.value} is not returned: that is for 1 and 2."
        case Disposition.HOLD:
            words = f"Class {defect_class.value} needs no decision: it is below the limit."
        case _:
            words = f"Class {defect_class.value} is not scrapped: that is for 1."
    return stop("class", words, INSTEAD[defect_class], call="")


INSTEAD: Final[dict[DefectClass, str]] = {
    DefectClass.CRITICAL: "Send it to rework, or hold it for the lead.",
    DefectClass.MAJOR: "Send it to rework, or hold it for the lead.",
    DefectClass.MINOR: "Touch it up, ask a lead to accept it, or class it anew if it is worse.",
    DefectClass.NOTE: "Accept it as it is, or class it anew if it is worse.",
}
"""What is done instead of something that a class does not allow."""


def _incomplete(decision: Decision) -> Iterator[Finding]:
    if not any(one.isalpha() for one in decision.reason):
        yield stop("reason", "No reason is given.", "Tap why, or write another reason.", call="")
    if decision.disposition in SENT and not decision.loop:
        yield stop("loop", "No repair is chosen.", "Choose the repair it goes to.", call="")
    if decision.disposition is Disposition.RETURN and decision.department not in DEPARTMENTS:
        yield stop(
            "department",
            "Of the 2 departments none is named.",
            "Say whether the neck or the body goes back.",
            call="",
        )


def _signed(decision: Decision, found_by: str) -> Iterator[Finding]:
    """Two people decide about what is serious. Whoever found it may be either of them."""
    if not decision.defect_class.serious:
        return
    beside = ""
    if found_by and found_by != decision.by.code:
        beside = f"{found_by}, who found it, can sign beside you."
    anybody = "Have a second person sign beside you."
    if not decision.second:
        words = f"Class {decision.defect_class.value} takes 2 badges, and here is 1."
        yield stop("second", words, beside or anybody, call="")
    elif decision.second == decision.by.code:
        words = (
            f"{decision.second} signed twice: class {decision.defect_class.value} takes 2 badges."
        )
        yield stop("second", words, beside or anybody, call="")


def _brings(
    decision: Decision,
    joined: bool,
    cased: bool,
    keeps_hold: bool,
    electronics: bool,
    pinned: bool,
) -> Iterator[Finding]:
    """What a decision brings about, said before it is confirmed."""
    if decision.disposition in SENT and cased:
        yield _days(keeps_hold)
    elif decision.disposition is Disposition.ACCEPT:
        yield note("accept", "It is closed as it is, and stays in the record with your reason.")
    elif decision.disposition is Disposition.SECONDS:
        yield note("seconds", "Its label and its papers are those of seconds.")
    elif decision.disposition is Disposition.RETURN:
        yield note(
            "return",
            f"The {decision.department} goes back with this reason, and work on it stops.",
            "Set it aside with its tag on.",
        )
    elif decision.disposition is Disposition.HOLD:
        yield note("hold", "Work on it stops until the lead has decided.", "Set it aside.", "lead")
    elif decision.disposition in APPROVED:
        yield from _ends(decision.disposition, joined, electronics, pinned)


def _days(keeps_hold: bool) -> Finding:
    if keeps_hold:
        most = span_words(TOUCH_UP)
        return note(
            "hold clock",
            f"Its days in the case stand still while it is out, for {most} at most.",
            "The strings stay at pitch.",
        )
    return note(
        "hold clock", "Its days in the case begin again after this repair.", "Take it off the rack."
    )


def _ends(
    disposition: Disposition, joined: bool, electronics: bool, pinned: bool
) -> Iterator[Finding]:
    yield note(
        "end",
        "Neck and body are a pair: both end with it."
        if joined
        else "Neck and body are no pair yet: only the part with the defect ends.",
    )
    if disposition is Disposition.CANNIBALISE:
        parts = [
            "machines",
            *(["pins"] if pinned else []),
            "strap buttons",
            *(["electronics"] if electronics else []),
        ]
        yield note(
            "parts",
            f"Its {listed(parts)} come off to quarantine.",
            "Slack the strings first. Count what comes off, each with its line.",
            "clerk",
        )
