"""The press: one form drawn for one thing or many, as one PDF. It records nothing."""

from __future__ import annotations

import importlib
import io
import logging
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import BrokenExecutor
from dataclasses import dataclass, field
from datetime import datetime
from hashlib import sha256
from types import ModuleType
from typing import Any, Final

from django.conf import settings
from django.template.loader import render_to_string
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from pikepdf import Dictionary, Pdf, String

from shop.floor import board
from shop.floor.board import NextPrint, Stands
from shop.paper.facts.saying import moment
from shop.paper.facts.tags import without_tag
from shop.paper.forms import FIND, Form, form_of
from shop.paper.plates import Plate, Unplaced
from shop.paper.refusing import NoneChosen, NotDrawn, NotPrinted, PressMissing, Unknown
from shop.paper.scan import Scan
from shop.paper.stamps import Stamps

AT_ONCE: Final = 100  # things read from the database together
FEW: Final = 4  # layouts that are not worth starting other processes for
PLAIN: Final = "plain"  # the style sheet that all forms share

log = logging.getLogger(__name__)

Told = Callable[[int], None]
"""Told how many of the things are drawn so far. It may raise, to stop the press."""


@dataclass(frozen=True, slots=True)
class Page:
    """What is to be drawn of one thing. ``mark`` is the same for all whose pages are the same
    but for the stamps. ``next`` and ``stands``, of an instrument: what is to be recorded."""

    name: str
    thing: Any
    mark: bytes
    stamps: Stamps
    next: NextPrint | None
    stands: Stands


@dataclass(frozen=True, slots=True)
class Drawn:
    """Where the pages of one thing stand in the sheaf: the first, and how many."""

    page: Page
    first: int
    count: int


@dataclass(slots=True)
class Sheaf:
    """All that was drawn of one form, in the order asked, and why the rest was not."""

    form: Form
    pdf: Pdf = field(default_factory=Pdf.new)
    drawn: list[Drawn] = field(default_factory=list)
    refused: list[tuple[str, NotPrinted]] = field(default_factory=list)

    @property
    def title(self) -> str:
        title = f"{_(self.form.words)} {self.drawn[0].page.name if self.drawn else ''}".strip()
        if len(self.drawn) < 2:
            return title
        return _("%(title)s and %(count)s more") % {"title": title, "count": len(self.drawn) - 1}


def draw(
    key: str,
    names: Sequence[str],
    now: datetime,
    *,
    plain: bool = False,
    many: bool = False,
    told: Told = lambda done: None,
) -> Sheaf:
    """One form for these instruments, badges or bins, as the form is of; each once, in the
    order given. Nothing is recorded by it.

    What cannot be drawn is told by ``refused`` and the rest is drawn. ``plain`` lays out every
    page by itself, with the same picture. ``many``: on every processor of the machine.

    Raises ``NotPrinted`` where nothing can be drawn at all: for an unknown form, nothing
    chosen, or a press that is not installed.
    """
    form = form_of(key)
    asked = cleaned(names)
    if not asked:
        raise NoneChosen
    setter = typesetter()
    sheaf = Sheaf(form)
    pages: list[Page] = []
    layouts: dict[bytes, str] = {}
    for page, html in _read(sheaf, asked, now, plain=plain):
        told(0)
        pages.append(page)
        layouts.setdefault(page.mark, html)
    with setter.layouts(many and len(layouts) > FEW) as lay_out:
        styles = (PLAIN, key)
        coming = {mark: lay_out(html, styles) for mark, html in layouts.items()}
        layouts.clear()
        plates: dict[bytes, Plate] = {}
        for number, page in enumerate(pages, 1):
            first = len(sheaf.pdf.pages)
            try:
                try:
                    if page.mark not in plates:
                        laid_out = coming[page.mark]()
                        plates[page.mark] = Plate(sheaf.pdf, laid_out, page.stamps.them)
                    plates[page.mark].pull(page.stamps.them)
                except Unplaced:
                    log.warning("%s of %s is laid out by itself.", form.words, page.name)
                    whole, html = _page(form, page.name, page.thing, page.next, now, plain=True)
                    Plate(sheaf.pdf, setter.lay_out(html, styles), whole.stamps.them).pull([])
            except BrokenExecutor:  # nothing more comes of any page: the job can be gone on with
                raise
            except Exception as why:  # noqa: BLE001 - told and logged; the rest is drawn
                sheaf.refused.append((page.name, _not_drawn(form, page.name, why)))
                told(number)
                continue
            sheaf.drawn.append(Drawn(page, first, len(sheaf.pdf.pages) - first))
            told(number)
    return sheaf


def proof(key: str, names: Sequence[str], now: datetime, *, plain: bool = False) -> bytes:
    """The PDF of one form for these, to look at: all or nothing. Raises ``NotPrinted``."""
    sheaf = draw(key, names, now, plain=plain)
    for _name, why in sheaf.refused:
        raise why
    return bound(sheaf.pdf, sheaf.title)


def bound(pdf: Pdf, title: str) -> bytes:
    """A document with its title and language, ready for a printer."""
    pdf.docinfo["/Title"] = title
    pdf.Root.Lang = String(language())
    if "/ViewerPreferences" not in pdf.Root:
        pdf.Root.ViewerPreferences = Dictionary()
    pdf.Root.ViewerPreferences.DisplayDocTitle = True
    out = io.BytesIO()
    pdf.save(out)
    return out.getvalue()


def language() -> str:
    """The language in force, which forms are written in."""
    return get_language() or settings.LANGUAGE_CODE


def cleaned(names: Sequence[str]) -> list[str]:
    """Serials and other names as they are written here, each once, in the order given; without
    the zero character, which PostgreSQL keeps in no text and asks nothing with."""
    written = (name.replace("\0", "").strip().upper() for name in names)
    return list(dict.fromkeys(name for name in written if name))


def file_name(key: str, names: Sequence[str]) -> str:
    """What a print is called when it is kept.

    >>> file_name("body_tag", ["Q-1043", "Q-1044", "Q-1049"])
    'body-tag-Q-1043-and-2-more.pdf'
    """
    first, *others = cleaned(names)
    more = f"-and-{len(others)}-more" if others else ""
    return f"{key.replace('_', '-')}-{first}{more}.pdf"


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


def _read(
    sheaf: Sheaf, asked: Sequence[str], now: datetime, *, plain: bool
) -> Iterator[tuple[Page, str]]:
    """The pages of what was asked, read so many at a time. What is not there is refused."""
    form = sheaf.form
    for start in range(0, len(asked), AT_ONCE):
        names = asked[start : start + AT_ONCE]
        found = FIND[form.subject](names)
        nexts: dict[int, NextPrint] = {}
        if form.subject == "instrument":
            nexts = board.next_prints(list(found.values()), form.key, form.carries == "own")
        for name in names:
            if name not in found:
                sheaf.refused.append((name, Unknown(name, form.subject)))
                continue
            thing = found[name]
            try:
                coming = nexts.get(thing.id) if form.subject == "instrument" else None
                yield _page(form, name, thing, coming, now, plain=plain)
            except Exception as why:  # noqa: BLE001 - likewise
                sheaf.refused.append((name, _not_drawn(form, name, why)))


def _page(
    form: Form, name: str, thing: Any, coming: NextPrint | None, now: datetime, *, plain: bool
) -> tuple[Page, str]:
    """What is to be drawn of one thing, and its page before it is laid out."""
    stamps = Stamps(plain)
    said: dict[str, Any] = {
        "form": form,
        "one": thing,
        "stamps": stamps,
        "printed_at": moment(now),
        "copy": coming.copy if coming else 1,
        "language": language(),
    }
    stands: Stands = ()
    if form.subject == "instrument":
        said["scan"] = _scan(form, thing, coming)
        stands = board.stands_on(form.key, thing, now)
    html = render_to_string(f"paper/{form.key}.html", {**said, **form.facts(thing, now)})
    mark = sha256(html.encode()).digest()
    return Page(name, thing, mark, stamps, coming, stands), html


def _scan(form: Form, one: board.State, coming: NextPrint | None) -> Scan | None:
    """The square of a paper of an instrument. Raises ``NotPrinted`` where the part it would
    hang on has no tag in use."""
    if not form.carries:
        return None
    if form.carries == "tray":
        return Scan.of(one.tray_code)
    if form.carries == "own" or form.key in board.TAG_FORMS:
        if coming is None:
            raise without_tag(one, form.carries)
        return Scan.of(coming.code)
    code = board.tags_of([one.serial])[one.serial].get(form.carries)
    if code is None:
        raise without_tag(one, form.carries)
    return Scan.of(code)


def _not_drawn(form: Form, name: str, why: Exception) -> NotPrinted:
    """Why one thing was not drawn. What was not foreseen goes to the log as well."""
    if isinstance(why, NotPrinted):
        return why
    log.error("%s of %s was not drawn.", form.words, name, exc_info=why)
    return NotDrawn(form.words, name, str(why) or type(why).__name__)
