"""Printing the demo workshop, with two more instruments that it does not have."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from unittest import mock

from shop.floor import board, door
from shop.paper import press, typesetting
from shop.stock import shelf
from tests.floor.morning import NOW, act, now, pick

# The longest address that a tag holds, 35 characters with the code; invented.
ADDRESS = "http://floor.quillmere:8000"
FORMS = ("traveller", "body_tag", "neck_tag", "tray_label")

# One instrument of each of the eight specs, none of them a pair yet: a neck that is paired
# has no tag of its own.
ONE_OF_EACH = {
    "TARN": "Q-1043",
    "HOLM": "Q-1064",
    "NESS": "Q-1071",
    "FIRTH": "Q-1058",
    "WOLD": "Q-1055",
    "SKERRY": "Q-1072",
    "FELL": "Q-1061",
    "VOE": "Q-1060",
}
CUSTOM = "Q-1044"  # two deviations, its tray short of T02
ASKED = "Q-1062"  # nothing picked yet
# Words that would load or run something if they were not taken as text.
NASTY = "Q-1067"
NASTY_WORDS = '<img src="file:///etc/hostname"><link rel=stylesheet href=http://127.0.0.1:9/a>'
NASTY_APPROVED = "url(../../manage.py) {% include 'base.html' %} ]]> &amp;"
NASTY_ORDER = "<b>../../x</b>"
SERIALS = (*ONE_OF_EACH.values(), CUSTOM, ASKED, NASTY)


@dataclass(frozen=True)
class Printed:
    """PDFs by form and serial, what they should carry, and what the press tried to load."""

    pdfs: dict[tuple[str, str], bytes]
    addresses: dict[tuple[str, str], str]
    states: dict[str, board.State]
    trays: dict[str, dict[str, Any]]
    loaded: list[str]


def release_more() -> None:
    """Release an instrument of each spec that the demo has none to begin of, and one whose
    papers hold nasty words."""
    _done(door.PartArrived("neck", "K-2110", "VOE"))
    _release("Q-1060", "K-2110", "VOE")
    release_new("Q-1071", "K-2111", "NESS")
    release_new("Q-1072", "K-2112", "SKERRY")
    for serial in ("Q-1064", "Q-1071", "Q-1072"):
        closed = door.TrayClosed(pick(serial))
        assert door.record(act("P-41", "K"), closed).done
    agreed = door.Agreed(NASTY_WORDS, NASTY_APPROVED)
    _release(NASTY, "K-2103", "FELL", order=NASTY_ORDER, agreed=(agreed,))


def release_new(body: str, neck: str, spec: str) -> None:
    """Release an instrument of a body and a neck that come in for it."""
    _done(door.PartArrived("body", body, spec))
    _done(door.PartArrived("neck", neck, spec))
    _release(body, neck, spec)


def _release(body: str, neck: str, spec: str, **more: Any) -> None:
    day = date(2031, 3, 19)
    _done(door.Released(body, neck, spec, due_on=day, release_on=NOW.date(), **more))


def _done(deed: Any) -> None:
    outcome = door.record(act("P-01", "", reason="invented for this test"), deed)
    assert outcome.done, outcome.findings


def print_all() -> Printed:
    loaded: list[str] = []

    def noted(_: Any, url: str, *__: Any) -> Any:
        loaded.append(url)
        raise typesetting.Refused(url)

    with mock.patch.object(typesetting.OwnFilesOnly, "fetch", noted):
        sheaves = {(form, serial): drawn(form, [serial]) for form in FORMS for serial in SERIALS}
    states = {serial: now(serial) for serial in SERIALS}
    # Read while they are there: a state reads its sheet and its deviations when first asked.
    assert all(one.sheet.stops and one.kit for one in states.values())
    return Printed(
        pdfs={key: press.bound(sheaf.pdf, sheaf.title) for key, sheaf in sheaves.items()},
        addresses={
            (form, serial): f"{ADDRESS}/{_code(sheaf, states[serial])}".upper()
            for (form, serial), sheaf in sheaves.items()
        },
        states=states,
        trays={serial: dict(shelf.tray(one.tray_id) or {}) for serial, one in states.items()},
        loaded=loaded,
    )


def drawn(form: str, serials: Sequence[str], **how: Any) -> press.Sheaf:
    """A form of all of these."""
    sheaf = press.draw(form, serials, NOW, **how)
    assert not sheaf.refused, sheaf.refused
    return sheaf


def _code(sheaf: press.Sheaf, one: board.State) -> str:
    """The code that a form of an instrument is to carry: the traveller's own, that of the tag
    on body or neck, that of the tray."""
    coming = sheaf.drawn[0].page.next
    assert coming is not None
    if sheaf.form.key == "traveller":
        assert coming.code.startswith("P")
        return coming.code
    part = sheaf.form.key.removesuffix("_tag")
    return board.tags_of([one.serial])[one.serial].get(part, one.tray_code)
