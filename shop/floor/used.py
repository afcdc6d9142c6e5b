"""Where did a lot go, and what became of the instruments that had of it?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from shop.floor.models import AsBuilt, Instrument, Step
from shop.stock import shelf
from shop.stock.shelf import Use, Used

BUILDING: Final = "being built"


@dataclass(frozen=True, slots=True)
class Became:
    """How far an instrument came: being built, released, boxed, finished or scrapped, and
    since when. ``order`` and ``destination``: whom it goes to."""

    stage: str
    at: datetime | None
    spec: str
    order: str
    destination: str
    why: str = ""  # it is scrap


@dataclass(frozen=True, slots=True)
class WhereUsed:
    """A lot's uses, each beside what became of its instrument; ``None`` where a tray's
    instrument is not known on this floor."""

    lot: Used
    uses: tuple[tuple[Use, Became | None], ...]

    @property
    def out_of_the_shop(self) -> tuple[str, ...]:
        """Serials that have pieces of it on, and left."""
        gone = (one.serial for one, it in self.uses if one.fitted and it and it.stage == "finished")
        return tuple(dict.fromkeys(gone))


def where_used(lot_id: int) -> WhereUsed | None:
    """Every instrument that had of a lot, in a constant number of statements."""
    lot = shelf.used(lot_id)
    if lot is None:
        return None
    became = _became(lot.serials)
    return WhereUsed(lot, tuple((one, became.get(one.serial)) for one in lot.uses))


def _became(serials: Sequence[str]) -> dict[str, Became]:
    if not serials:
        return {}
    rows = Instrument.objects.filter(body__serial__in=serials).values_list(
        "id", "body__serial", "revision__spec__key", "order", "destination", "ended", "finished_at"
    )
    them = list(rows)
    numbers = [row[0] for row in them]
    kept = AsBuilt.objects.filter(instrument_id__in=numbers).order_by("id")
    released = dict(kept.values_list("instrument_id", "at"))
    papers = Step.objects.filter(
        instrument_id__in=numbers, operation__papers=True, void_at__isnull=True
    )
    boxed = dict(papers.values_list("instrument_id", "at"))
    return {
        serial: Became(
            *_stage(ended, finished_at, boxed.get(number), released.get(number)),
            spec, order, destination, ended,
        )
        for number, serial, spec, order, destination, ended, finished_at in them
    }  # fmt: skip


def _stage(
    ended: str, finished: datetime | None, boxed: datetime | None, released: datetime | None
) -> tuple[str, datetime | None]:
    """The last of what became of it, and since when."""
    if ended:
        return "scrapped", finished
    reached = {"finished": finished, "boxed": boxed, "released": released}
    return next(((stage, at) for stage, at in reached.items() if at), (BUILDING, None))
