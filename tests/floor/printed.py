"""Papers and tags printed as the press prints them, but that nothing is drawn."""

from __future__ import annotations

from datetime import datetime
from typing import Final

from shop.floor import board, door
from tests.floor.morning import NOW, act, now

WORDS: Final = {
    "traveller": "Traveller",
    "body_tag": "Body tag",
    "neck_tag": "Neck tag",
    "tray_label": "Tray label",
}
OWN: Final = {"traveller"}  # each copy has a code of its own


def coming(serial: str, form: str, at: datetime = NOW) -> door.Printed:
    """The next copy of a form, drawn and not recorded yet."""
    it = now(serial)
    copy = board.next_prints([it], form, form in OWN)[it.id]
    stands = board.stands_on(form, it, at)
    return door.Printed(it.id, form, WORDS[form], copy.of, copy.copy, copy.code, it.seq, stands)


def send(deed: door.Printed, reason: str = "", at: datetime = NOW) -> door.Outcome:
    return door.record(act("P-01", "", at, reason=reason), deed)


def printed(serial: str, form: str, reason: str = "", at: datetime = NOW) -> door.Outcome:
    return send(coming(serial, form, at), reason, at)


def paper(serial: str, form: str = "traveller", at: datetime = NOW) -> str:
    """Print it; the code on this copy."""
    deed = coming(serial, form, at)
    assert send(deed, at=at).done
    return deed.code
