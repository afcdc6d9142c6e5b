"""Seeded panels: which sets there are, what an inspector has still to look at, and how far two
of them agree. Nobody is told here who called what: the two of a set are A and B, A whoever
began first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from django.db.models import Count, Min, QuerySet
from django.utils.crypto import salted_hmac

from shop.craft.quality.agreement import Agreement, agreement
from shop.craft.quality.agreement import Panel as Judged
from shop.craft.quality.spots import Spot
from shop.floor.models import Panel, PanelCall, PanelSet

HANDS: Final = 2  # that look at a set
SHOWN: Final = 50  # sets, the newest


@dataclass(frozen=True, slots=True)
class SetRow:
    """A set of panels. ``called`` is how many A and B have called so far; ``mine`` how many of
    them whoever asks has; ``seeded``: that they put the defects on it themselves."""

    number: int
    words: str
    at: datetime
    away: bool
    panels: int
    called: tuple[int, ...]
    mine: int
    seeded: bool

    @property
    def done(self) -> bool:
        """Whether both have called all of them."""
        return self.called == (self.panels,) * HANDS

    @property
    def is_open_to_asker(self) -> bool:
        """Whether whoever asks may look at it, or go on."""
        if self.away or self.seeded or self.mine == self.panels:
            return False
        return bool(self.mine) or len(self.called) < HANDS


@dataclass(frozen=True, slots=True)
class Turn:
    """A set as an inspector sees it who looks at it: which panels they have called themselves,
    and how. Nothing of what is on them, and nothing of what another called."""

    number: int
    words: str
    away: bool
    panels: tuple[int, ...]
    mine: dict[int, bool]

    @property
    def next(self) -> int | None:
        """The first panel that is still to be called; ``None`` where all are."""
        return next((one for one in self.panels if one not in self.mine), None)


@dataclass(frozen=True, slots=True)
class CalledPanel:
    """A panel both have called: what is on it, and what A and B said."""

    number: int
    spots: tuple[Spot, ...]
    first: bool
    second: bool

    @property
    def seeded(self) -> bool:
        return bool(self.spots)


def token_of(number: int, by_id: int) -> str:
    """What stands for a person in the calls of a set: the same for all of theirs, another one
    in another set, and nothing to find them by."""
    return salted_hmac("shop.floor.panels", f"{number} {by_id}").hexdigest()[:16]


def sets(by_id: int) -> tuple[SetRow, ...]:
    """The newest sets, as they stand for whoever asks. Two statements."""
    return _sets(by_id, PanelSet.objects.all(), PanelCall.objects.all())


def set_of(number: int, by_id: int) -> SetRow | None:
    """One of them, however old; ``None`` where there is none. Two statements."""
    calls = PanelCall.objects.filter(panel__of__number=number)
    return next(iter(_sets(by_id, PanelSet.objects.filter(number=number), calls)), None)


def _sets(by_id: int, them: QuerySet[PanelSet], calls: QuerySet[PanelCall]) -> tuple[SetRow, ...]:
    columns = ("number", "words", "at", "away", "by_id", "many")
    # What is grouped has no order unless it is asked for.
    ordered = them.annotate(many=Count("panels")).order_by("-number")
    rows = ordered.values_list(*columns)[:SHOWN]
    hands = (
        calls.order_by()
        .values_list("panel__of__number", "token")
        .annotate(calls=Count("pk"), first=Min("pk"))
        .order_by("first")
    )
    called: dict[int, dict[str, int]] = {}
    for number, token, many, _ in hands:
        called.setdefault(number, {})[token] = many
    found = []
    for number, words, at, away, seeded_by, many in rows:
        its = called.get(number, {})
        mine = its.get(token_of(number, by_id), 0)
        seeded = seeded_by == by_id
        found.append(SetRow(number, words, at, away, many, tuple(its.values()), mine, seeded))
    return tuple(found)


def turn(number: int, by_id: int) -> Turn | None:
    """A set as whoever looks at it sees it; ``None`` where there is none. Three statements."""
    row = PanelSet.objects.filter(number=number).values_list("pk", "words", "away").first()
    if row is None:
        return None
    pk, words, away = row
    panels = Panel.objects.filter(of_id=pk).order_by("number").values_list("number", flat=True)
    calls = PanelCall.objects.filter(panel__of_id=pk, token=token_of(number, by_id))
    mine = dict(calls.values_list("panel__number", "found"))
    return Turn(number, words, away, tuple(panels), mine)


def called(number: int) -> tuple[CalledPanel, ...]:
    """The panels of a set with all that is known of them; none until both have called all, so
    that nobody who still looks is told. Two statements."""
    rows = Panel.objects.filter(of__number=number).order_by("number")
    panels = list(rows.values_list("pk", "number", "spots"))
    calls: dict[str, dict[int, bool]] = {}
    said = PanelCall.objects.filter(panel__of__number=number).order_by("pk")
    for token, panel, found in said.values_list("token", "panel_id", "found"):
        calls.setdefault(token, {})[panel] = found
    if len(calls) != HANDS or any(len(its) != len(panels) for its in calls.values()):
        return ()
    first, second = calls.values()
    return tuple(
        CalledPanel(at, tuple(Spot(*one) for one in spots), first[pk], second[pk])
        for pk, at, spots in panels
    )


def agreement_of(number: int) -> Agreement | None:
    """How far the two agree who looked at a set; ``None`` until both have called all of it."""
    return judged(called(number))


def judged(rows: tuple[CalledPanel, ...]) -> Agreement | None:
    """The same of rows that were read before."""
    return agreement([Judged(one.seeded, one.first, one.second) for one in rows])
