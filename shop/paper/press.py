"""The press: travellers, tags, labels and records as one PDF for one instrument or many."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from types import ModuleType
from typing import Any, Final

from django.conf import settings
from django.template.loader import render_to_string

from shop.craft.code import pretty
from shop.floor import board
from shop.floor.board import State
from shop.paper import sheets
from shop.paper.as_built import as_built
from shop.paper.refusing import (
    NoneChosen,
    PressMissing,
    TooMany,
    UnknownForm,
    UnknownInstruments,
)
from shop.paper.symbol import Symbol, symbol

# Travellers have two sides: sixty pages take about ten seconds and 300 MB of memory.
MOST: Final = 30


@dataclass(frozen=True, slots=True)
class Scan:
    """The square on a form and the code printed beside it."""

    code: str
    square: Symbol

    @property
    def printed(self) -> str:
        return pretty(self.code)

    @property
    def halves(self) -> tuple[str, str]:
        """The printed code on two lines, where the form is narrow."""
        head, tail = self.printed.split("-")
        return f"{head}-", tail


@dataclass(frozen=True, slots=True)
class Form:
    """A kind of paper: its template and style sheet share its key."""

    key: str
    words: str
    paper: str  # ISO 216 size and how it is used, for the person at the printer
    carries: str  # whose code the square holds: "body", "neck", "tray"; "" where there is none
    facts: Callable[[State, datetime], Mapping[str, Any]]


FORMS: Final[dict[str, Form]] = {
    form.key: form
    for form in (
        Form("traveller", "Traveller", "A5, both sides", "body", sheets.traveller),
        Form("body_tag", "Body tag", "A7, both sides", "body", sheets.body_tag),
        Form("neck_tag", "Neck tag", "A8, both sides", "neck", sheets.neck_tag),
        Form("tray_label", "Tray label", "A7", "tray", sheets.tray_label),
        Form("as_built", "As-built record", "A4, once it is released", "", as_built),
    )
}


def print_forms(form: str, serials: Sequence[str], now: datetime) -> bytes:
    """The PDF of one form for these instruments, in the order given, all or nothing.

    Raises ``NotPrinted``, whose message tells the person what to do: for an unknown form
    or serial, none or too many chosen, a part without a tag, an address too long for a
    tag, or a press that is not installed.
    """
    chosen = FORMS.get(form)
    if chosen is None:
        raise UnknownForm(form, list(FORMS))
    states = _found(serials)
    codes = _codes(chosen, states)
    setter = typesetter()
    pages = [_page(chosen, one, codes.get(one.serial, ""), now) for one in states]
    pdf: bytes = setter.typeset(pages, ("plain", chosen.key), title(chosen, states))
    return pdf


def file_name(form: str, serials: Sequence[str]) -> str:
    """What a print that succeeded is called when it is kept.

    >>> file_name("body_tag", ["Q-1043", "Q-1044", "Q-1049"])
    'body-tag-Q-1043-and-2-more.pdf'
    """
    first, *others = cleaned(serials)
    more = f"-and-{len(others)}-more" if others else ""
    return f"{form.replace('_', '-')}-{first}{more}.pdf"


def title(form: Form, states: Sequence[State]) -> str:
    more = f" and {len(states) - 1} more" if len(states) > 1 else ""
    return f"{form.words} {states[0].serial}{more}"


def tag_address(code: str) -> str:
    """What a tag's square holds: capitals only, so that it is read as alphanumeric."""
    return f"{settings.ADDRESS}/{code}".upper()


def typesetter() -> ModuleType:
    """The module that lays out pages. Raises ``PressMissing`` when it cannot be loaded.

    It is loaded on first use: that takes half a second, and a shop without Pango is to
    run all the same.
    """
    try:
        return importlib.import_module("shop.paper.typesetting")
    except (OSError, ImportError) as why:
        raise PressMissing(_first_line(why)) from why


def _first_line(why: Exception) -> str:
    lines = str(why).strip().splitlines() or [type(why).__name__]
    return lines[0].rstrip(" .:")


def cleaned(serials: Sequence[str]) -> list[str]:
    """Serials as they are written here, each once, in the order given."""
    return list(dict.fromkeys(serial.strip().upper() for serial in serials if serial.strip()))


def _found(serials: Sequence[str]) -> list[State]:
    asked = cleaned(serials)
    if not asked:
        raise NoneChosen
    if len(asked) > MOST:
        raise TooMany(len(asked), MOST)
    found = {serial: board.by_serial(serial) for serial in asked}
    unknown = [serial for serial, state in found.items() if state is None]
    if unknown:
        raise UnknownInstruments(unknown)
    return [state for state in found.values() if state is not None]


def _codes(form: Form, states: Sequence[State]) -> dict[str, str]:
    if not form.carries:
        return {}
    if form.carries == "tray":
        return {one.serial: one.tray_code for one in states}
    tags = board.tags_of([one.serial for one in states])
    for one in states:
        if form.carries not in tags[one.serial]:
            raise sheets.without_tag(one, form.carries)
    return {serial: parts[form.carries] for serial, parts in tags.items()}


def _page(form: Form, one: State, code: str, now: datetime) -> str:
    facts = {
        "form": form,
        "one": one,
        "scan": Scan(code, symbol(tag_address(code))) if code else None,
        **form.facts(one, now),
    }
    return render_to_string(f"paper/{form.key}.html", facts)
