"""Noting the papers that let an instrument's woods cross a border."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, ClassVar, Final

from shop.craft.finding import Finding, stop
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.models import Entry, Permit
from shop.floor.state import State

LONGEST: Final = 40  # characters of a permit's number


@dataclass(frozen=True, slots=True)
class PermitNoted(Deed):
    """The permit of this number covers this wood of the instrument.

    ``wood`` is the botanical name, as the papers carry it.
    """

    kind: ClassVar[str] = "permit"
    instrument_id: int
    wood: str
    number: str

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        if self.wood not in {one.botanical for one in now.sheet.spec.woods if one.permit}:
            words = f"{self.wood or 'Nothing'} is no wood of {now.serial} that needs a paper."
            return (stop("permit", words, "Choose a wood of the list.", call=""),)
        if not self.number.strip():
            words = f"The paper for {self.wood} has no number yet."
            return (stop("permit", words, "Type the number as it stands on it.", call=""),)
        if len(self.number) > LONGEST or not self.number.isprintable():
            words = f"A number has 1 to {LONGEST} letters, digits and signs in one line."
            return (stop("permit", words, "Type it as it stands on the paper.", call=""),)
        noted = Permit.objects.filter(
            instrument_id=self.instrument_id, wood=self.wood, number=self.number
        )
        if noted.exists():
            words = f"{self.number} is noted for {self.wood} already."
            return (stop("permit", words, "Nothing to do.", call=""),)
        return ()

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        ground.after = ground.facts  # a paper changes nothing that a screen asks the instrument
        return {}

    @classmethod
    def follow(cls, row: Entry) -> None:
        Permit.objects.create(
            instrument_id=row.number,
            wood=row.data["wood"],
            number=row.data["number"],
            by_id=row.by_id,
            at=row.at,
            entry=row,
        )
