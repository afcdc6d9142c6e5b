"""What a tray's line is filled from, and how it is checked once it lies in the tray."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Exists, F, OuterRef

from shop.stock.models import Lot, StockRule, Tray, TrayLine


@dataclass(frozen=True, slots=True)
class SmallParts:
    """The screws that belong to one set, spare included, and what they weigh, in gram.

    What was never weighed is None: the screws are counted then.
    """

    count: int
    unit_g: Decimal | None
    unit_sd_g: Decimal | None
    bag_g: Decimal | None

    @property
    def weighed(self) -> bool:
        """Whether a weight tells how many there are."""
        return self.unit_g is not None and self.bag_g is not None


def small_parts(item_id: int) -> SmallParts | None:
    """The small parts of one set of an item; none where it has none."""
    rows = StockRule.objects.filter(item_id=item_id, small_parts__gt=0)
    found = rows.values_list("small_parts", "unit_g", "unit_sd_g", "bag_g").first()
    return SmallParts(*found) if found else None


@dataclass(frozen=True, slots=True)
class LotChoice:
    """A lot that a line may be filled from. ``free`` counts what is kept for the line itself."""

    id: int
    code: str
    plating: str  # its own code, where no plating lot is told
    bin: str
    received_on: date
    free: int


def lots_for(line_id: int, item_id: int) -> tuple[LotChoice, ...]:
    """The lots of an item that have something for this line, the oldest first; nothing held."""
    own = TrayLine.objects.filter(pk=line_id).values_list("reserved_lot_id", "reserved").first()
    kept_in, kept = own or (None, 0)
    rows = Lot.objects.filter(item_id=item_id, held="", piece="", on_hand__gt=0)
    found = [
        LotChoice(
            number, code, plating or code, place, day,
            on_hand - reserved + (kept if number == kept_in else 0),
        )
        for number, code, plating, place, day, on_hand, reserved in rows.values_list(
            "id", "code", "plating", "bin__code", "received_on", "on_hand", "reserved"
        )
    ]  # fmt: skip
    return tuple(one for one in found if one.free > 0)


def in_slot(slot: str) -> tuple[str, ...]:
    """The serials whose closed trays stand in this slot of the rack by the figures. A tray of
    which all is fitted or came back has left the rack."""
    rest = TrayLine.objects.filter(
        tray=OuterRef("pk"), state="taken", quantity__gt=F("fitted") + F("returned")
    )
    rows = Tray.objects.filter(Exists(rest), slot=slot, state="closed")
    return tuple(rows.order_by("serial").values_list("serial", flat=True))
