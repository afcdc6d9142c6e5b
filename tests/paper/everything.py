"""A floor on which every form there is can be printed of something, and the pages that the
press makes of it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from unittest import mock

from shop.floor import door
from shop.paper import press, typesetting
from shop.paper.forms import CHOICES, FORMS
from shop.paper.laid_out import LaidOut
from tests.floor.morning import NOW, act, now
from tests.floor.shipping import MINUTE, boxed, hand_over, released

RELEASED = "Q-1043"
REWORKED = "Q-1037"
# Cased, reworked, released, of a custom order, with its battery and where it goes: in the
# order in which they are tried.
INSTRUMENTS = ("Q-1040", REWORKED, RELEASED, "Q-1044", "Q-1058", "Q-1055")


def come_about() -> None:
    """One goes all the way and leaves with a carrier, one gets a defect that is repaired."""
    at = released(RELEASED)
    boxed(RELEASED, at, ("P000010", "P000011"))
    assert hand_over(RELEASED, at=at + MINUTE).done
    found = door.DefectFound(now(REWORKED).id, "chip", "finish chip", "", "finish, zone 6")
    outcome = door.record(act("P-22", "I"), found)
    assert outcome.done, outcome.findings


def printable(form: str) -> str:
    """The name of something that this form can be printed of; fullest first."""
    subject = FORMS[form].subject
    if subject != "instrument":
        choices = dict(CHOICES[subject]())
        return max(choices, key=lambda name: len(choices[name]))
    order = {"tray_label": ("Q-1044",), "box_label": ("Q-1055",), "packing": ("Q-1055",)}
    names: list[str] = [*order.get(form, ()), *INSTRUMENTS]
    for name in names:
        if press.draw(form, [name], NOW).drawn:
            return name
    raise AssertionError(f"Nothing on this floor has a {form}.")


@contextmanager
def laid_out() -> Iterator[list[str]]:
    """The pages that are laid out meanwhile, as they go to the typesetter."""
    real, seen = typesetting.lay_out, list[str]()

    def seeing(page: str, styles: tuple[str, ...]) -> LaidOut:
        seen.append(page)
        return real(page, styles)

    with mock.patch.object(typesetting, "lay_out", seeing):
        yield seen


def drawn(form: str, name: str, **how: Any) -> tuple[bytes, str]:
    """A form of one thing: its PDF, and its page as it went to the typesetter."""
    with laid_out() as seen:
        pdf = press.proof(form, [name], NOW, plain=True, **how)
    return pdf, seen[-1]
