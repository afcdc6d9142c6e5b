"""What each word for a defect means, and how one is found. All common practice, no source."""

from __future__ import annotations

import doctest
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.inspecting import defects
from shop.craft.inspecting.defects import _LINES, MEANINGS, Meaning, find
from shop.craft.rework import WORDS

SPANISH = {
    ("wood", "crack"): ("grieta", "madera", "La madera se abrió a lo largo de la veta."),
    ("finish", "scratch"): ("rayón", "acabado", "Una línea cortada desde fuera."),
    ("joint", "gap"): ("luz", "unión"),
    ("paper", "missing"): ("falta", "papeles"),
}


def words(found: tuple[Meaning, ...]) -> list[str]:
    return [one.word for one in found]


def test_every_word_has_exactly_one_meaning_and_no_meaning_lacks_its_word() -> None:
    wanted = [(family, word) for family, them in WORDS.items() for word in them]
    assert list(MEANINGS) == wanted
    assert sum(map(len, _LINES.values())) == len(wanted)


def test_no_two_words_mean_the_same() -> None:
    lines = Counter(one.line for one in MEANINGS.values())
    assert [line for line, count in lines.items() if count > 1] == []


def test_a_word_of_two_families_is_told_apart_by_its_lines() -> None:
    often = Counter(word for them in WORDS.values() for word in them)
    shared = {word for word, count in often.items() if count > 1}
    assert shared == {"crack", "loose", "missing"}
    for word in shared:
        assert len({one.line for one in MEANINGS.values() if one.word == word}) == 2


@pytest.mark.parametrize("one", MEANINGS.values(), ids=lambda one: " ".join(one.key))
def test_a_line_is_one_plain_sentence_that_fits_under_its_word(one: Meaning) -> None:
    assert one.line[0].isupper()
    assert one.line.endswith(".")
    assert one.line.count(". ") == 0
    assert "!" not in one.line
    assert len(one.line) <= 80


@pytest.mark.parametrize("one", MEANINGS.values(), ids=lambda one: " ".join(one.key))
def test_a_usual_class_is_one_of_four(one: Meaning) -> None:
    assert one.usual_class in {1, 2, 3, 4}


@pytest.mark.parametrize(
    ("family", "word", "usual"),
    [
        ("wood", "split", 1),  # a split head
        ("wood", "crack", 1),  # a cracked tail block
        ("hardware", "wrong hand", 1),
        ("joint", "lift", 1),  # the bridge
        ("setup", "buzz", 2),
        ("finish", "chip", 2),  # more than 1 mm on the face
        ("setup", "high action", 2),
        ("hardware", "wrong item", 2),  # wrong pins
        ("finish", "dust nib", 3),
        ("finish", "swirl", 3),
        ("joint", "step", 3),
    ],
)
def test_the_examples_of_each_class_have_that_class(family: str, word: str, usual: int) -> None:
    assert MEANINGS[family, word].usual_class == usual


def test_a_beginning_is_found_in_the_word_before_the_family_and_that_before_the_line() -> None:
    assert words(find("cra"))[:4] == ["crack", "crazing", "craze at bushing", "crack"]
    found = find("fret")
    assert words(found)[0] == "fret-out"
    families = [one.family for one in found[1:9]]
    assert families == ["fret"] * 8
    assert all("fret" in one.line.lower() for one in found[9:])
    assert len(found) > 9


def test_the_word_itself_comes_before_words_that_only_begin_with_it() -> None:
    assert words(find("crack"))[:3] == ["crack", "crack", "crackle"]
    assert words(find("chip"))[:2] == ["chip", "chip-out"]
    assert [one.key for one in find("loose")[:3]] == [
        ("fret", "loose"), ("hardware", "loose"), ("joint", "loose brace"),
    ]  # fmt: skip


def test_each_word_typed_has_to_begin_something() -> None:
    assert [one.key for one in find("crack wood")][:1] == [("wood", "crack")]
    assert [one.key for one in find("miss pap")][:1] == [("paper", "missing")]
    assert find("crack zither") == ()
    assert find("rack") == ()


@pytest.mark.parametrize("typed", ["back-bow", "back bow", "backbow", "BACK-B", "bow back"])
def test_a_hyphen_may_be_typed_or_left_out(typed: str) -> None:
    assert words(find(typed))[0] == "back-bow"


def test_a_family_is_found_with_a_hyphen_that_it_is_written_without() -> None:
    assert {one.family for one in find("set-up")[:15]} == {"setup"}


def test_the_words_of_the_reader_are_found_with_and_without_their_accents() -> None:
    for typed in ("rayón", "rayon", "RAYÓ"):
        assert words(find(typed, SPANISH)) == ["scratch"]
    assert [one.key for one in find("grieta", SPANISH)] == [("wood", "crack")]
    assert [one.key for one in find("union", SPANISH)] == [("joint", "gap")]
    assert [one.key for one in find("papeles missing", SPANISH)] == [("paper", "missing")]
    assert find("rayón") == ()


def test_nothing_typed_leaves_all_in_their_order() -> None:
    assert find("  - ") == find("") == tuple(MEANINGS.values())


def test_only_those_given_are_searched() -> None:
    among = [one for one in MEANINGS.values() if one.family == "fret"]
    assert words(find("loose", among=among)) == ["loose"]
    assert find("", among=among) == tuple(among)


@pytest.mark.parametrize("one", MEANINGS.values(), ids=lambda one: " ".join(one.key))
def test_a_word_typed_out_is_found_first_in_its_family(one: Meaning) -> None:
    among = [other for other in MEANINGS.values() if other.family == one.family]
    assert find(one.word, among=among)[0] == one


@given(st.sampled_from(list(MEANINGS.values())), st.integers(1, 30))
def test_any_beginning_of_a_word_finds_it(one: Meaning, letters: int) -> None:
    assert one in find(one.word[:letters])


@given(st.text(max_size=12))
def test_whatever_is_typed_finds_each_at_most_once(text: str) -> None:
    found = find(text, SPANISH)
    assert len(set(found)) == len(found)
    assert set(found) <= set(MEANINGS.values())


def test_the_examples_hold() -> None:
    result = doctest.testmod(defects)
    assert (result.failed, result.attempted) == (0, 3)
