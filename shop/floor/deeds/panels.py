"""Panels with defects put on them by a lead, and called by two inspectors, each alone.

How far two agree says something only where neither knows what is there, nor what the other
said. So whoever put the defects on does not call, nobody calls beside another, and a call that
is the last of all stands. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, ClassVar, Final

from django.db.models import Max

from shop.craft.finding import Finding, stop
from shop.craft.quality.spots import LEAST_PANELS, MOST_PANELS, MOST_SPOTS, Spot
from shop.craft.words import several
from shop.floor import panels as kept
from shop.floor.deeds.deed import Act, Deed, Ground
from shop.floor.models import Entry, Panel, PanelCall, PanelSet

WORDS: Final = 60  # letters of what panels they are
SUBJECT: Final = "panels"


@dataclass(frozen=True, slots=True)
class PanelsKept(Deed):
    """These panels make a new set, with a defect in each spot that is named and none on a panel
    without any; or the set of the number ``away`` is put away."""

    kind: ClassVar[str] = "panels"
    words: str = ""
    panels: tuple[tuple[Spot, ...], ...] = ()
    away: int = 0

    def plain(self) -> dict[str, Any]:
        spots = [[list(spot) for spot in panel] for panel in self.panels]
        return {"words": self.words, "panels": spots, "away": self.away}

    def ground(self) -> Ground:
        its = PanelSet.objects.select_for_update().filter(number=self.away) if self.away else None
        return Ground(SUBJECT, facts=its.first() if its is not None else None)

    def said_before(self, act: Act, ground: Ground) -> bool:
        now: PanelSet | None = ground.facts
        return now is not None and now.away

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        if self.away:
            return () if ground.facts is not None else (unknown(self.away),)
        return tuple(self._wrong())

    def _wrong(self) -> Iterator[Finding]:
        if not 0 < len(self.words.strip()) <= WORDS or not self.words.isprintable():
            words = f"What panels they are takes 1 to {WORDS} letters in one line."
            yield stop("panel words", words, "Write it as gloss panels, March.", call="")
        count = len(self.panels)
        if not LEAST_PANELS <= count <= MOST_PANELS:
            words = f"{several(count, 'panel')}: a set has {LEAST_PANELS} to {MOST_PANELS}."
            yield stop("panels", words, "Take as many as can be looked at in one go.", call="")
        elif all(self.panels):
            words = "Every panel has a defect: nobody could call one where none is."
            yield stop("panels", words, "Leave some of them without any.", call="")
        elif not any(self.panels):
            words = "No panel has a defect: there is nothing to find."
            yield stop("panels", words, "Put a defect on some of them.", call="")
        for number, spots in enumerate(self.panels, 1):
            yield from self._unfit(number, spots)

    def _unfit(self, number: int, spots: tuple[Spot, ...]) -> Iterator[Finding]:
        if len(spots) > MOST_SPOTS or len(set(spots)) < len(spots):
            words = f"Panel {number} has up to {MOST_SPOTS} defects, each named once."
            yield stop("panel spots", words, "Leave out what is too much.", call="")
        if not all(one.can_be for one in spots):
            words = f"Panel {number}: no panel has such a defect in such a place."
            yield stop("panel spots", words, "Choose both of the lists.", call="")

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded or self.away:
            return {}
        # Two that seed at one moment may draw the same number: the second comes again.
        last = PanelSet.objects.aggregate(last=Max("number"))["last"] or 0
        return {"number": last + 1}

    @classmethod
    def follow(cls, row: Entry) -> None:
        said = row.data
        if said["away"]:
            PanelSet.objects.filter(number=said["away"]).update(away=True)
            return
        number = said["number"]
        made = PanelSet.objects.create(
            number=number, words=said["words"], by_id=row.by_id, at=row.at, entry=row
        )
        Panel.objects.bulk_create(
            Panel(name=f"{number}-{at:02}", of=made, number=at, spots=spots)
            for at, spots in enumerate(said["panels"], 1)
        )


@dataclass(frozen=True, slots=True)
class PanelCalled(Deed):
    """On this panel of a set an inspector found a defect, or nothing wrong. Until they have
    called all of the set they may call one again."""

    kind: ClassVar[str] = "panel call"
    of: int
    panel: int
    found: bool

    def plain(self) -> dict[str, Any]:
        return {"of": self.of, "panel": self.panel, "found": self.found}

    def ground(self) -> Ground:
        # Held, so that no third one begins at the same moment as a second.
        its = PanelSet.objects.select_for_update().filter(number=self.of).first()
        ground = Ground(f"{SUBJECT} {self.of}", facts=its)
        if its is not None:
            rows = PanelCall.objects.filter(panel__of=its)
            ground.seen = list(rows.values_list("token", "panel__number", "found"))
        return ground

    def said_before(self, act: Act, ground: Ground) -> bool:
        mine = self._token(act)
        return (mine, self.panel, self.found) in (ground.seen or ())

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        its: PanelSet | None = ground.facts
        if its is None:
            return (unknown(self.of),)
        return tuple(self._barred(act, its)) or tuple(self._too_late(act, its, ground.seen))

    def _barred(self, act: Act, its: PanelSet) -> Iterator[Finding]:
        if its.away:
            words = f"The panels of set {its.number} are put away."
            yield stop("panels", words, "Look at another set.", call="")
        if its.by_id == act.by_id:
            words = "You put the defects on these panels: you know what is there."
            yield stop("panels", words, "Two others look at them, each alone.", call="")
        if act.beside is not None:
            words = f"{act.beside.code} signs beside you: a panel is looked at alone."
            yield stop("panels", words, "Have them end that, then call it.", call="")

    def _too_late(
        self, act: Act, its: PanelSet, calls: list[tuple[str, int, bool]]
    ) -> Iterator[Finding]:
        token = self._token(act)
        there = Panel.objects.filter(of=its).values_list("number", flat=True)
        mine = [one for one in calls if one[0] == token]
        others = {one[0] for one in calls} - {token}
        if self.panel not in there:
            words = f"Set {its.number} has no panel {self.panel}."
            yield stop("panels", words, "Call the panel that the page names.", call="")
        elif len(others) >= kept.HANDS:
            words = f"Two others look at the panels of set {its.number} already."
            yield stop("panels", words, "Ask the lead for another set.", call="lead")
        elif len(mine) == len(there):
            words = f"You called all {several(len(mine), 'panel')}: your calls stand."
            yield stop("panels", words, "Nothing to do.", call="")

    def _token(self, act: Act) -> str:
        return kept.token_of(self.of, act.by_id)

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        return {"token": self._token(act)} if recorded else {}

    @classmethod
    def follow(cls, row: Entry) -> None:
        said = row.data
        PanelCall.objects.update_or_create(
            panel=Panel.objects.get(of__number=said["of"], number=said["panel"]),
            token=said["token"],
            defaults={"found": said["found"], "at": row.at, "entry": row},
        )


def unknown(number: int) -> Finding:
    """That there is no such set."""
    return stop(
        "panels", f"There is no set {number} of panels.", "Choose one of the list.", call=""
    )
