"""Everything is said in every language, whole; and nothing stands in a template past them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest
from django.template.base import Lexer, TokenType
from django.utils import translation

from shop.craft.phrasebook import PLACE, WORD, Phrasebook, searched
from shop.craft.words import THIN
from shop.desk.views import FILTERS
from shop.kitting.shorts import FILTERS as OF_SHORTS
from shop.paper.refusing import NeckIsPaired
from shop.people.languages import OF_THE_RECORD, phrases, say
from tests import words

FORMAT = re.compile(r"%\((\w+)\)[sd]|\{(\w+)\}")
LANGUAGES = pytest.mark.parametrize("language", words.LANGUAGES)
TEMPLATES = sorted((words.ROOT / "templates").rglob("*.html")) + sorted(
    (words.ROOT / "templates").rglob("*.svg")
)


@pytest.fixture(scope="module")
def found() -> dict[str, words.Message]:
    return words.messages()


@LANGUAGES
def test_nothing_is_left_untranslated(language: str, found: dict[str, words.Message]) -> None:
    left = [f"{one.where}:{one.line}: {one.words}" for one in words.untranslated(language, found)]
    assert left == [], "\n".join(left)


@LANGUAGES
def test_the_messages_kept_are_the_ones_said(
    language: str, found: dict[str, words.Message]
) -> None:
    """``python -m tests.words gather`` brings them up to date."""
    kept = {one.id if isinstance(one.id, str) else one.id[0] for one in words.catalogue(language)}
    assert kept - {""} == set(found)


@LANGUAGES
def test_what_varies_in_a_message_varies_in_every_language(language: str) -> None:
    wrong = []
    for one in words.catalogue(language):
        ids = [one.id] if isinstance(one.id, str) else list(one.id)
        strings = [one.string] if isinstance(one.string, str) else list(one.string or ())
        places = set().union(*map(_places, ids))
        # The form for one may leave the number to the words, as the English may.
        whole = places == _places(str(strings[-1]))
        if one.id and not (whole and all(_places(str(other)) <= places for other in strings)):
            wrong.append(f"{ids[0]}\n    {strings}")
    assert wrong == [], "\n".join(wrong)


def _places(text: str) -> set[str]:
    return {name for pair in FORMAT.findall(text) for name in pair if name}


@LANGUAGES
def test_a_sentence_with_figures_is_known_by_its_fixed_words(language: str) -> None:
    """Each phrase filled with figures is said with the same figures, in its own words."""
    book = phrases(language)
    kept = {one.id: one.string for one in words.catalogue(language) if isinstance(one.id, str)}
    wrong, same = [], dict[str, set[str]]()
    for one, other in kept.items():
        names = PLACE.findall(one)
        if not names or len(WORD.findall(PLACE.sub(" ", one))) < 3:
            continue
        figures = {name: f"{number}.{number}" for number, name in enumerate(names, 3)}
        figures["THIN"] = THIN
        filled, wanted = (text.format(**figures).strip() for text in (one, str(other)))
        same.setdefault(filled, set()).add(wanted)
    for filled, ways in same.items():  # one sentence may be made in two places
        if book.say(filled) not in ways:
            wrong.append(f"{filled}\n    {book.say(filled)}\n    {ways}")
    assert wrong == [], f"{len(wrong)} of {len(kept)}:\n" + "\n".join(wrong)


def test_english_is_said_as_it_stands() -> None:
    with translation.override(OF_THE_RECORD):
        assert say("Ready Fri 14:10.") == "Ready Fri 14:10."


@LANGUAGES
def test_what_is_not_known_is_left_as_it_is(language: str) -> None:
    with translation.override(language):
        assert say("Zwölf Boxkämpfer jagen Viktor") == "Zwölf Boxkämpfer jagen Viktor"


@LANGUAGES
@pytest.mark.parametrize("word", [*FILTERS, *OF_SHORTS])
def test_a_word_that_narrows_a_list_is_said_and_finds_what_it_found(
    language: str, word: str
) -> None:
    with translation.override(language):
        assert say(word) != word
        assert all(one in searched(word, say) for one in [word, *say(word).split()])


class _Text(HTMLParser):
    """The text of a template without its tags: between elements, and in what is read out."""

    READ: frozenset[str] = frozenset({"alt", "title", "aria-label", "placeholder", "content"})

    def __init__(self) -> None:
        super().__init__()
        self.told: list[str] = []
        self._silent = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._silent += tag in {"style", "script"}
        if tag != "meta":
            self.told += [
                value or ""
                for name, value in attrs
                if name in self.READ or name.startswith("data-say")
            ]

    def handle_endtag(self, tag: str) -> None:
        self._silent -= tag in {"style", "script"}

    def handle_data(self, data: str) -> None:
        if not self._silent:
            self.told.append(data)


def _bare(template: Path) -> Iterator[str]:
    """Words of a template that stand outside of what is translated."""
    kept, inside = [], ""
    for token in Lexer(template.read_text()).tokenize():
        if token.token_type is TokenType.BLOCK:
            name = token.contents.split()[0]
            if name in {"blocktranslate", "comment"}:
                inside = name
            elif name == f"end{inside}":
                inside = ""
            elif token.contents == "block width":
                inside = "block"  # a class of the page
        elif token.token_type is TokenType.TEXT and not inside:
            kept.append(token.contents)
    reader = _Text()
    reader.feed("".join(kept))
    for text in reader.told:
        if re.search(r"[^\W\d_]{3,}", text) and "Heelcap" not in text and "http" not in text:
            yield " ".join(text.split())


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda one: one.name)
def test_no_words_stand_in_a_template_untranslated(template: Path) -> None:
    assert list(_bare(template)) == []


def test_a_word_left_out_would_be_seen(tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    page.write_text('<p>{% translate "Said" %}</p><p>Not said</p><img alt="Nor this">')
    assert list(_bare(page)) == ["Not said", "Nor this"]


def test_a_phrase_of_few_words_is_sure_only_where_its_values_are_known() -> None:
    book = Phrasebook({"{a} of {b}": "{a} de {b}", "left": "izquierda"})
    assert book.say("3 of left") == "3 de izquierda"
    assert book.say("the best of all worlds") == "the best of all worlds"


@LANGUAGES
def test_names_of_languages_and_other_words_of_django_are_not_ours_to_say(language: str) -> None:
    with translation.override(language):
        assert say("Polish") == "Polish"


def test_what_a_worker_kept_in_english_is_said_to_who_reads_spanish() -> None:
    with translation.override("en"):
        kept = str(NeckIsPaired("Q-1050", "K-2088"))
    with translation.override("es"):
        assert say(kept) == str(NeckIsPaired("Q-1050", "K-2088")) != kept
