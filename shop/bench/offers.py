"""What the page of an instrument offers to whoever looks at it: one act, and small ones."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from shop.catalogue.book import StopSheet
from shop.craft import leaving
from shop.craft.finding import Finding, any_stop
from shop.craft.inspecting import moving
from shop.craft.start import Asking, OpenStep
from shop.craft.when import when_words
from shop.floor import board
from shop.floor.board import State, Work

Name = Literal[
    "record", "tray", "gauge", "look", "posts", "neck", "beside", "join", "take", "cut", "hand",
    "late", "call", "body", "box", "dock", "",
]  # fmt: skip
"""The one act: what clears the first reason, or the record where nothing is in its way."""

# A reason beside which nothing else counts: the guitar stays as it is.
FULL_STOPS: Final = frozenset({"ended", "frozen"})
# What a tag of the body must have been scanned for: the other part is matched with the body.
MATCHES: Final = frozenset({"tray", "neck"})

WHY_ON: Final = (
    "The lead agreed",
    "Looked at and measured: it fits",
    "The missing part follows before it is needed",
)
WHY_ON_AT_A_LOOK: Final = (
    "Measured again: it is so",
    "The log of the room explains it",
    "The lead agreed",
)


@dataclass(frozen=True, slots=True)
class Opened:
    """The step that is open, as the one who looks sees it."""

    step: OpenStep
    stop: StopSheet | None
    since: str
    here: bool  # it belongs to the station of this phone
    yours: bool  # you have it in hand, or help with it


@dataclass(frozen=True, slots=True, kw_only=True)
class Offers:
    """What there is to tap. ``go`` is the station where the next thing is to be done, where
    that is another one; ``gap`` what should have been recorded on the way here. ``unseen``
    says why the tag on the body is scanned first. ``areas``: the operation here is a look with
    a checklist to answer."""

    act: Name
    opened: Opened | None = None
    begin: bool = False
    earlier: bool = False
    check_neck: bool = False
    tray: bool = False
    areas: bool = False
    go: StopSheet | None = None
    unseen: Finding | None = None
    gap: tuple[StopSheet, ...] = ()
    reasons: tuple[Finding, ...] = ()

    @property
    def full_stop(self) -> Finding | None:
        first = self.reasons[0] if self.reasons else None
        return first if first and first.rule in FULL_STOPS else None


def offered(
    now: State,
    work: Work,
    asking: Asking,
    *,
    records: bool,
    unseen: Finding | None = None,
) -> Offers:
    """What is offered on an instrument here and now. ``records``: to somebody who records
    steps, if need be with a trainer beside. ``unseen``: what is to be said where no tag of the
    body was scanned, so that no tray and no neck is matched with it."""
    opened = _opened(now, asking)
    reasons = work.reasons if work.blocked else ()
    gap: tuple[StopSheet, ...] = ()
    if reasons and reasons[0].rule == "station":
        gap = board.gap(now, asking.station)
    act = _act(now, work, opened, reasons, gap)
    if act not in MATCHES:
        unseen = None
    leaves = act in {"box", "dock"}
    free = records and work.here and not work.blocked and not leaves
    return Offers(
        act="" if not records else "body" if unseen else act,
        opened=opened,
        begin=records and board.may_begin(now, work),
        earlier=free and not work.wants_neck,
        tray=act == "beside" and work.wants_tray,  # to look alone needs no trainer
        check_neck=records and not reasons and _paired_here(now, asking.station),
        areas=records and _looks_here(now, work),
        go=_elsewhere(work, opened, reasons),
        unseen=unseen,
        gap=gap,
        reasons=reasons,
    )


def why_on(now: State, work: Work) -> tuple[str, ...]:
    """The usual reasons, by one tap, to go on though something speaks against it: at a look
    that is a value which moved, and no part is missing there."""
    if work.stop is not None and work.stop.code in board.looks_of(now):
        return WHY_ON_AT_A_LOOK
    return WHY_ON


def _looks_here(now: State, work: Work) -> bool:
    """Whether the checklist of a look may be gone on with here: a defect that nobody has decided,
    or a value that moved too far, keeps back the record of the look alone."""
    stop = work.stop
    if stop is None or not work.here or stop.code not in board.looks_of(now):
        return False
    at_the_record = {"undecided", moving.RULE}
    return not any_stop(one for one in work.held if one.rule not in at_the_record)


def _opened(now: State, asking: Asking) -> Opened | None:
    one = now.open
    if one is None:
        return None
    stop = now.sheet.stop(one.operation)
    return Opened(
        step=one,
        stop=stop,
        since=when_words(one.since, asking.at),
        here=stop is not None and stop.station_code == asking.station,
        yours=not one.parked and asking.who.code in (one.by, *one.helpers),
    )


def _act(
    now: State,
    work: Work,
    opened: Opened | None,
    reasons: tuple[Finding, ...],
    gap: tuple[StopSheet, ...],
) -> Name:
    if work.stop is None:
        return ""
    if not reasons:
        return _at_the_bench(now, work)
    rule = reasons[0].rule
    if rule in board.SIGNED_BESIDE:
        return "beside" if work.here else ""
    if rule == "station":
        return "late" if gap else ""
    if opened and rule in {"open", "parked", "power cut"}:
        return _on_open(rule, opened)
    return "call"


def _at_the_bench(now: State, work: Work) -> Name:
    """What a scan, a measure or a look clears, in their order; else nothing is in the way. What
    boxes it is done by the scans of case and carton, what hands it over by the list of the
    dock: neither by a tap alone."""
    wanted: tuple[tuple[Name, bool], ...] = (
        ("tray", work.wants_tray),
        ("gauge", work.wants_readings),
        ("look", work.wants_areas),
        ("posts", work.wants_positions),
        ("neck", work.wants_neck),
    )
    return next((name for name, wants in wanted if wants), _recorded_by(now, work))


def _recorded_by(now: State, work: Work) -> Name:
    route, code = now.sheet.route, work.stop.code if work.stop else ""
    if code and code == leaving.boxing(route):
        return "box"
    return "dock" if code and code == leaving.handing(route) else "record"


def _on_open(rule: str, opened: Opened) -> Name:
    if rule == "open" and opened.yours:
        return "hand"
    if not opened.here:
        return ""
    return {"open": "join", "parked": "take", "power cut": "cut"}[rule]  # type: ignore[return-value]


def _elsewhere(work: Work, opened: Opened | None, reasons: tuple[Finding, ...]) -> StopSheet | None:
    rule = reasons[0].rule if reasons else ""
    if rule == "station":
        return work.stop
    if opened and rule in {"open", "parked", "power cut"} and not (opened.here or opened.yours):
        return opened.stop
    return None


def _paired_here(now: State, station: str) -> bool:
    """Whether its neck can be looked at where the pair was made."""
    pairing = now.sheet.pairing
    return (
        pairing is not None
        and pairing.station_code == station
        and pairing.code in now.done_codes
        and now.neck is not None
    )
