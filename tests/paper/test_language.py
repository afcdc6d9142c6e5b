"""Every word on paper can be said in another language, and a longer one loses nothing.

There is no other language yet. So one is made up, in which every word that is looked up comes
back in brackets, or half as long again; whatever stands outside of brackets was not looked up.
"""

from __future__ import annotations

import ast
import gettext
import io
import re
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from unittest import mock

import lxml.html  # type: ignore[import-untyped]
import pypdf
import pytest
from django.apps import apps
from django.conf import settings
from django.db.models import CharField, JSONField, TextField
from django.utils.translation import trans_real

from shop.craft import head
from shop.craft.finding import Severity
from shop.craft.hardware import Bushing, Family, Hand, Metal, TunerFamily, TunerSet
from shop.floor import board
from shop.paper import press, vocabulary
from shop.paper.forms import FORMS
from tests.floor.morning import NOW, now
from tests.paper import everything
from tests.paper.reading import overprinted, pages, sizes_mm, squeezed

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("floor")]

every_form = pytest.mark.parametrize("form", FORMS)

# What is the same in every language: units, the hand of a machine, the sign of a string.
SIGNS = frozenset(["mm", "in", "m", "h", "min", "kg", "N", "V", "RH", "L", "R", "o"])
HELD = re.compile(r"(%\(\w+\)s|<[^>]*>|&\w+;|\{\w*\})")
# What is typed where it cannot be scanned, and a link of the journal.
CODE = re.compile(r"[0-9A-Z]{4}-|[0-9A-Z]{3}|[0-9A-Z]{4}-[0-9A-Z]{3}|[0-9a-f]{4}( [0-9a-f]{4})+"
                  r"|(BIN|LOT|AT) \S+")  # fmt: skip


@pytest.fixture(scope="module")
def floor(morning: None, django_db_blocker: Any) -> None:
    with django_db_blocker.unblock():
        everything.come_about()


class MadeUp(gettext.NullTranslations):
    """A language made of another by a function of each message."""

    def __init__(self, say: Callable[[str], str]) -> None:
        super().__init__()
        self.say = say

    def gettext(self, message: str) -> str:
        return self.say(message.rsplit(trans_real.CONTEXT_SEPARATOR, 1)[-1])

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return self.gettext(msgid1 if n == 1 else msgid2)

    def to_language(self) -> str:
        return "eo"


def bracketed(message: str) -> str:
    return f"⟦{message}⟧"


def lengthened(message: str) -> str:
    """Half as long again, word by word; what is to be filled in stays as it is."""
    parts = HELD.split(message)
    longer = (re.sub(r"[^\W\d_]+", lambda word: word[0] + "e" * (len(word[0]) // 2 or 1), one)
              for one in parts[::2])  # fmt: skip
    return "".join(one + held for one, held in zip(longer, [*parts[1::2], ""], strict=True))


@contextmanager
def spoken(say: Callable[[str], str]) -> Iterator[None]:
    active = trans_real._active  # type: ignore[attr-defined]  # where a request keeps its own
    with mock.patch.object(active, "value", MadeUp(say), create=True):
        yield


def told(page: str) -> Iterator[str]:
    """The pieces of text that a page shows, without the codes that are typed."""
    body = lxml.html.fromstring(page).find("body")
    assert body is not None
    for one in body.iter():
        hidden = one.tag in {"title", "desc"}
        code = any("code" in (it.get("class") or "").split() for it in (one, *one.iterancestors()))
        for text in ("" if hidden else one.text, one.tail):
            piece = (text or "").strip()
            if piece and not (code and CODE.fullmatch(piece)):
                yield piece


def outside(pieces: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Each piece, and what of it stands outside of all brackets. What is said may go over
    several pieces, where something in it is bold or stamped."""
    deep = 0
    for piece in pieces:
        left = []
        for char in piece:
            deep += {"⟦": 1, "⟧": -1}.get(char, 0)
            left.append(" " if deep or char == "⟧" else char)
        yield piece, " ".join("".join(left).split())


# Tables of the floor in which somebody's own words stand.
ON_THE_FLOOR = frozenset(
    [
        "AsBuilt",
        "Body",
        "Deviation",
        "Gauge",
        "Instrument",
        "Manifest",
        "Neck",
        "Rework",
        "Slot",
        "Tag",
    ]
)


def data(frozen: Collection[str] = ()) -> list[str]:
    """What somebody wrote into the shop's tables, and what was frozen; longest first."""
    rooms = {
        "catalogue": None,
        "people": {"Badge"},
        "stock": {"Bin", "Lot"},
        "floor": ON_THE_FLOOR,
    }
    found: set[str] = set()
    for room, names in rooms.items():
        for model in apps.get_app_config(room).get_models():
            if names is not None and model.__name__ not in names:
                continue
            columns = [
                field.attname
                for field in model._meta.concrete_fields
                if isinstance(field, CharField | TextField | JSONField) and not field.choices
            ]
            for row in model._default_manager.values_list(*columns) if columns else ():
                found.update(_leaves(row))
    kept = {one for one in found if re.search(r"[^\W\d_]", one)}
    # The words frozen with a release are data, whatever they were before.
    words = vocabulary.WORDS - set(frozen)
    return sorted((kept | set(frozen)) - words, key=len, reverse=True)


def _leaves(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield " ".join(value.split())
    elif isinstance(value, dict):
        yield from _leaves(list(value.values()))
    elif isinstance(value, list | tuple):
        for one in value:
            yield from _leaves(one)


def untranslated(page: str, known: list[str]) -> list[str]:
    """The pieces of a page that were not looked up and that nobody wrote into a table."""
    found = []
    for piece, left in outside(told(page)):
        rest = left
        for one in known:
            if one in rest:
                rest = re.sub(rf"(?<!\w){re.escape(one)}(?!\w)", " ", rest)
        words = re.findall(r"[^\W\d_]+", rest)
        if any(word not in SIGNS for word in words):
            found.append(piece)
    return found


def test_a_word_that_was_not_looked_up_is_found_out() -> None:
    """Holds the measure of the next test."""
    page = "<html><body><p>⟦Due ⟦x⟧⟧ soon</p><svg><title>a</title></svg>Q-1043 8.73 mm</body>"
    assert untranslated(page, ["Q-1043"]) == ["⟦Due ⟦x⟧⟧ soon"]


@every_form
def test_every_word_on_paper_is_looked_up(form: str) -> None:
    with spoken(bracketed):
        _, page = everything.drawn(form, everything.printable(form))
    assert "⟦" in page
    kept = board.as_built(now(everything.RELEASED).id) if form == "as_built" else None
    assert untranslated(page, data(list(_leaves(kept)))) == []


@every_form
def test_words_half_as_long_again_lose_no_line(form: str) -> None:
    with spoken(lengthened):
        pdf, page = everything.drawn(form, everything.printable(form))
    found = pages(pdf)
    text = "".join(one.text for one in found)
    pieces = [squeezed(piece) for piece in told(page)]
    assert pieces
    assert [piece for piece in pieces if piece not in text] == []
    for side, (width, height) in zip(found, sizes_mm(pdf), strict=True):
        off = [
            (one.char, one.left, one.bottom)
            for one in side.glyphs
            if min(one.left, one.bottom) < 1 or one.right > width - 1 or one.top > height - 1
        ]
        assert off == []
        assert overprinted(side) == []


@every_form
def test_as_it_is_no_word_lies_on_another(form: str) -> None:
    pdf, _ = everything.drawn(form, everything.printable(form))
    assert [overprinted(side) for side in pages(pdf)] == [[]] * len(pages(pdf))


@every_form
def test_another_language_changes_words_alone(form: str) -> None:
    """A decimal comma, which this one has, is no part of a drawing's numbers."""
    name = everything.printable(form)
    with mock.patch.object(board, "next_prints", _kept_codes()):
        _, page = everything.drawn(form, name)
        with spoken(str):
            _, other = everything.drawn(form, name)
    assert other.replace('lang="eo"', 'lang="en"') == page


def _kept_codes() -> Callable[..., Any]:
    """A traveller's code is new each time it is drawn; here it stays."""
    real, kept = board.next_prints, dict[int, Any]()

    def next_prints(*asked: Any) -> dict[int, Any]:
        for number, coming in real(*asked).items():
            kept.setdefault(number, coming)
        return kept

    return next_prints


def test_the_language_in_force_is_that_of_page_and_print() -> None:
    with spoken(str):
        pdf, page = everything.drawn("body_tag", everything.RELEASED)
    assert '<html lang="eo">' in page
    assert str(pypdf.PdfReader(io.BytesIO(pdf)).root_object["/Lang"]) == "eo"


@pytest.mark.parametrize(
    "path", sorted((settings.BASE_DIR / "static/paper").glob("*.css")), ids=str
)
def test_no_style_sheet_writes_words(path: Path) -> None:
    """What a style sheet writes nobody can translate: numbers of pages and signs alone."""
    written = re.findall(r'content:[^;]*?"([^"]*)"', path.read_text(encoding="utf-8"))
    assert [one for one in written if re.search(r"[^\W\d_]", one)] == []


@pytest.mark.parametrize(
    "words",
    [
        [one.value for one in Hand],
        [one.words for one in Hand],
        [one.value for one in Metal],
        [one.words for one in Bushing],
        [one.words for one in TunerFamily],
        [one.words for one in Family],
        [one.name.lower() for one in Severity],
        [form.words for form in FORMS.values()],
        [form.paper for form in FORMS.values()],
        [form.subject for form in FORMS.values()],
        ["body", "neck"],
    ],
)
def test_the_fixed_words_of_the_craft_are_named_for_who_translates_them(words: list[str]) -> None:
    assert set(words) <= vocabulary.WORDS


def test_every_word_on_the_drawing_of_a_head_and_every_target_is_named() -> None:
    said: set[str] = set()
    for one in board.all_open():
        said.update(what for what, _ in one.sheet.targets)
        machines = next((it.article for it in one.kit if isinstance(it.article, TunerSet)), None)
        for view in ("front", "back"):
            drawing = head.draw(one.sheet.spec, view, machines)
            said |= {drawing.heading, drawing.facing, *drawing.edges}
            said.update(line for _, line in drawing.keys)
    assert len(said) > 9
    assert said <= vocabulary.WORDS


def test_a_refusal_is_said_in_the_language_in_force() -> None:
    with spoken(bracketed):
        sheaf = press.draw("traveller", ["Q-9999"], NOW)
    assert str(sheaf.refused[0][1]).startswith("⟦There is no ⟦instrument⟧ Q-9999 here.⟧ ⟦Read")


def test_every_sentence_of_a_refusal_is_looked_up() -> None:
    """Nothing in this file is put together of words that nobody can translate."""
    source = Path(press.__file__).with_name("refusing.py").read_text(encoding="utf-8")
    tree = ast.parse(source)
    looked_up = {
        part
        for call in ast.walk(tree)
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id == "_"
        for part in ast.walk(call)
    }
    said = [
        node.value
        for one in ast.walk(tree)
        if isinstance(one, ast.FunctionDef)
        for node in ast.walk(one)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
        if node not in looked_up and " " in node.value.strip()
    ]
    assert said == []


def test_the_record_frozen_at_release_stays_in_the_words_it_was_frozen_in() -> None:
    kept = board.as_built(now(everything.RELEASED).id)
    assert kept is not None
    with spoken(bracketed):
        _, page = everything.drawn("as_built", everything.RELEASED)
    pieces = list(told(page))
    for one in kept["operations"]:
        assert one["name"] in pieces
    assert "⟦Goes to⟧" not in pieces, "it goes nowhere"
    assert any(piece.startswith("⟦Body Q-1043, neck K-2081⟧") for piece in pieces)
