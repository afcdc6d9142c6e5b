"""A busy hour after the demo's morning: something of each kind that people do, and try."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal

from shop.catalogue.models import SpecRevision, Wood
from shop.floor import door
from shop.floor.models import HelpCall, Tag
from shop.floor.photos import Picture
from tests.floor.around import NIGRA
from tests.floor.morning import NOW, act, check_tray, forget, measured, now, prepared, step

PICTURE = Picture(b"a head seen from the back", "ab" * 32)


def hour(at: datetime = NOW) -> list[door.Outcome]:
    """What was done and what was refused, in the order of the journal."""
    wood = Wood.objects.get(botanical=NIGRA)
    for revision in SpecRevision.objects.filter(spec__key="WOLD"):
        revision.woods.add(wood)
    forget()
    minutes = (at + timedelta(minutes=one) for one in range(60))
    told = [
        door.record(act("P-01", "", next(minutes)), door.PartArrived("body", "Q-1099", "TARN")),
        door.record(act("P-01", "", next(minutes)), door.PartArrived("neck", "K-2199", "TARN")),
        door.record(act("P-01", "", next(minutes)), door.PartArrived("neck", "K-2199", "TARN")),
        door.record(act("P-16", "J", next(minutes)), door.RoomRead(Decimal(22), Decimal("46.5"))),
        door.record(
            act("P-01", "", next(minutes)),
            door.PermitNoted(now("Q-1055").id, NIGRA, "N-4471/31"),
        ),
        step("Q-1043", "N40", at=next(minutes)),
        check_tray("Q-1058", "P-14", "B", "Q-1055", next(minutes)),
        check_tray("Q-1058", "P-14", "B", at=next(minutes)),
        *prepared("Q-1043", "B30", "P-14", "B", next(minutes)),
        measured("Q-1043", "B30", "P-14", "B", next(minutes)),
        door.record(
            act("P-14", "B", next(minutes), reason="All as marked"),
            door.Placed(now("Q-1043").id, "B30", picture=PICTURE),
        ),
        step("Q-1043", "B30", "P-14", "B", next(minutes)),
    ]
    calls = [
        door.record(
            act("P-11", "N", next(minutes)), door.CallMade(now("Q-1043").id, whom, "Two left over")
        )
        for whom in ("clerk", "lead", "nobody")
    ]
    number = HelpCall.objects.get(whom="clerk").pk
    answers = [
        door.record(act("P-41", "K", next(minutes)), door.CallAnswered(number)) for _ in range(2)
    ]
    tags = [
        door.record(
            act("P-01", "", next(minutes), reason="Torn off"), door.TagReplaced(code(serial))
        )
        for serial in ("Q-1043", "Q-1060", "Q-1060")
    ]
    return [*told, *calls, *answers, *tags]


def code(serial: str) -> str:
    """The tag in use on a body."""
    return Tag.objects.get(body__serial=serial, void_at=None).code
