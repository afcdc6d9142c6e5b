"""An instrument that leaves: its papers printed, boxed, and handed to a carrier.

Shared by the tests of what is told of it. Badges, codes and the carrier are invented.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from shop.floor import board, door
from tests.floor.morning import act, now, prepared, words
from tests.floor.released import DOERS, go_on

MINUTE = timedelta(minutes=1)
PACKING = "Z"
CARRIER = "Heron Freight"
FORMS = {"hold_card": "Case hold card", "box_label": "Box label", "traveller": "Traveller"}


def paper(serial: str, form: str, at: datetime, code: str = "") -> str:
    """One more copy of a form leaves the printer; the code on it."""
    it = now(serial)
    coming = board.next_prints([it], form, True)[it.id]
    own = code or coming.code
    stands = board.stands_on(form, it, at)
    deed = door.Printed(it.id, form, FORMS[form], serial, coming.copy, own, it.seq, stands)
    outcome = door.record(act("P-01", "", at), deed)
    assert outcome.done, words(outcome)
    return own


def released(serial: str) -> datetime:
    """It goes all the way to its release; a moment after that."""
    return go_on(serial) + MINUTE


def measured(serial: str, at: datetime) -> None:
    """What is noted as it is boxed: a battery's contacts, where there is one."""
    for outcome in prepared(serial, "Z10", DOERS[PACKING], PACKING, at):
        assert outcome.done, words(outcome)


def box(serial: str, case: str, label: str, at: datetime, by: str = "") -> door.Outcome:
    deed = door.Boxed(now(serial).id, case, label)
    return door.record(act(by or DOERS[PACKING], PACKING, at), deed)


def boxed(serial: str, at: datetime, codes: tuple[str, str] = ("", "")) -> str:
    """It lies in its carton; the code on the carton's label."""
    measured(serial, at)
    card, label = codes
    card = paper(serial, "hold_card", at, card)
    label = paper(serial, "box_label", at, label)
    outcome = box(serial, card, label, at)
    assert outcome.result == "recorded", words(outcome)
    return label


def hand_over(
    *serials: str, at: datetime, carrier: str = CARRIER, counted: int | None = None
) -> door.Outcome:
    numbers = tuple(now(one).id for one in serials)
    deed = door.HandedOver(numbers, carrier, len(serials) if counted is None else counted)
    return door.record(act(DOERS[PACKING], PACKING, at), deed)


def lay_out(at: datetime) -> None:
    """Of the demo's cased instruments one stands on the dock, another is gone."""
    gone = go_on("Q-1040", at) + MINUTE
    boxed("Q-1040", gone)
    assert hand_over("Q-1040", at=gone + MINUTE).done
    boxed("Q-1038", go_on("Q-1038", at) + MINUTE)
