"""The short codes: their check character, what is minted, what is read."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.code import (
    CHECK_SYMBOLS,
    LENGTH,
    SYMBOLS,
    Kind,
    Reading,
    check_character,
    mint,
    pretty,
    read,
    read_station,
)
from shop.craft.finding import Severity

OURS = {"bench.example", "10.0.0.7:8000"}
GOOD = mint(Kind.BODY, Random(1043).randrange)

codes = st.builds(
    lambda kind, seed: mint(kind, Random(seed).randrange), st.sampled_from(Kind), st.integers()
)


def rule(reading: Reading) -> str:
    return reading.finding.rule if reading.finding else ""


def words(reading: Reading) -> str:
    assert reading.finding is not None
    return reading.finding.words


@pytest.mark.parametrize(
    ("symbols", "check"),
    [
        ("H88CMK9BVJ1V", "P"),
        ("H88CMK9BVJ1W", "Q"),
        ("H88CMK9BVJV1", "E"),
        ("H88CMK9BVJ10", "*"),
    ],
)
def test_the_check_character_is_the_published_one(symbols: str, check: str) -> None:
    """J. D. Cook, "Check sums and error detection", 28 December 2018, on D. Crockford's scheme."""
    assert check_character(symbols) == check


def test_the_check_character_follows_the_definition_of_an_integer() -> None:
    """D. Crockford, crockford.com/base32.html: the value modulo 37.

    The worked value is dcode.fr's: the bytes "base" are 1650553701, remainder 18, symbol J.
    """
    value = int.from_bytes(b"base", "big")
    assert (value, value % 37) == (1650553701, 18)
    digits = ""
    while value:
        value, digit = divmod(value, 32)
        digits = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"[digit] + digits
    assert digits == "1H62WV5"
    assert check_character(digits) == "J"


def test_the_alphabets_are_the_published_ones() -> None:
    """D. Crockford, crockford.com/base32.html: 32 symbols without I, L, O, U, five for checks."""
    assert len(SYMBOLS) == 32
    assert not set(SYMBOLS) & set("ILOU")
    assert CHECK_SYMBOLS[32:] == "*~$=U"


@pytest.mark.parametrize("symbols", ["B7O4", "b7m4", "B7-4", "B7*4"])
def test_a_symbol_outside_the_alphabet_is_named(symbols: str) -> None:
    with pytest.raises(ValueError, match="is not a base-32 symbol"):
        check_character(symbols)


def test_no_symbols_have_no_check_character() -> None:
    with pytest.raises(ValueError, match="give at least one"):
        check_character("")


@given(codes)
def test_a_minted_code_reads_back_as_itself(code: str) -> None:
    assert read(code, OURS) == Reading(code, Kind(code[0]), None)


@given(codes)
def test_a_minted_code_uses_only_what_a_plain_keypad_has(code: str) -> None:
    assert len(code) == LENGTH
    assert set(code) <= set(SYMBOLS)


def test_a_draw_whose_check_has_no_base_32_symbol_is_drawn_again() -> None:
    endings = [f"B0000{last}" for last in SYMBOLS]
    never = next(one for one in endings if check_character(one) not in SYMBOLS)
    good = next(one for one in endings if check_character(one) in SYMBOLS)
    draws: Iterator[int] = iter([SYMBOLS.index(one) for one in never[1:] + good[1:]])
    assert mint(Kind.BODY, lambda _below: next(draws)).startswith(good)


def test_every_wrong_symbol_is_found() -> None:
    """All 7 places by all 31 other symbols; the property D. Crockford chose 37 for."""
    for place in range(LENGTH):
        for symbol in set(SYMBOLS) - {GOOD[place]}:
            wrong = GOOD[:place] + symbol + GOOD[place + 1 :]
            assert rule(read(wrong, OURS)) == "code damaged", wrong


@given(codes, st.integers(0, LENGTH - 1), st.sampled_from(SYMBOLS))
def test_one_wrong_symbol_in_any_code_is_found(code: str, place: int, symbol: str) -> None:
    wrong = code[:place] + symbol + code[place + 1 :]
    assert rule(read(wrong, OURS)) == ("" if wrong == code else "code damaged")


@given(codes, st.integers(0, LENGTH - 2))
def test_two_neighbours_swapped_in_any_code_are_found(code: str, place: int) -> None:
    swapped = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
    assert rule(read(swapped, OURS)) == ("" if swapped == code else "code damaged")


@given(codes)
def test_a_code_typed_in_any_usual_way_is_read(code: str) -> None:
    """O, I and L for 0 and 1 as D. Crockford, crockford.com/base32.html, decodes them."""
    for typed in (
        code.lower(),
        pretty(code),
        f"  {code[:2]} {code[2:]}\r\n",
        code.replace("0", "O").replace("1", "I"),
        code.replace("0", "o").replace("1", "l"),
        pretty(code).replace("-", "–"),
        f"\ufeff{code}\t",
    ):
        assert read(typed, OURS).code == code, typed


@pytest.mark.parametrize(
    "address",
    [
        "https://bench.example/{}",
        "HTTPS://BENCH.EXAMPLE/{}",
        "http://bench.example/{}/",
        "https://bench.example:443/{}",
        "HTTP://10.0.0.7:8000/{}",
        "bench.example/{}",
        "https://bench.example/{}?from=camera",
        " https://bench.example/{}\n",
    ],
)
def test_the_address_of_a_tag_of_this_workshop_is_read(address: str) -> None:
    assert read(address.format(GOOD), OURS).code == GOOD
    assert read(address.format(pretty(GOOD).lower()), OURS).code == GOOD


@pytest.mark.parametrize(
    "address",
    [
        "https://elsewhere.example/{}",
        "https://bench.example.elsewhere.example/{}",
        "https://bench.example@elsewhere.example/{}",
        "https://bench.example:8000/{}",
        "http://10.0.0.7/{}",
        "ftp://bench.example/{}",
        "//[/{}",
        "https:///{}",
    ],
)
def test_an_address_of_another_place_is_foreign_even_with_a_good_code(address: str) -> None:
    reading = read(address.format(GOOD), OURS)
    assert (rule(reading), reading.code) == ("code foreign", "")
    assert "outside this workshop" in words(reading)


@pytest.mark.parametrize("page", ["", "/", "/floor/{}", "/a/b/c"])
def test_another_page_of_this_workshop_is_no_tag(page: str) -> None:
    reading = read("https://bench.example" + page.format(GOOD), OURS)
    assert rule(reading) == "code foreign"
    assert "is a page of this workshop, not a tag" in words(reading)


def test_an_address_is_ours_with_its_usual_port_written_or_left_out() -> None:
    for address in (f"https://bench.example/{GOOD}", f"https://bench.example:443/{GOOD}"):
        assert read(address, {"bench.example:443"}).code == GOOD
        assert read(address, {"Bench.example"}).code == GOOD
        assert rule(read(address, {"bench.example:80"})) == "code foreign"


def test_a_damaged_code_in_an_address_of_this_workshop_is_damaged() -> None:
    assert rule(read(f"https://bench.example/{GOOD[:-1]}", OURS)) == "code damaged"


@pytest.mark.parametrize("text", ["", "   ", "-", "\r\n", "\u200b"])
def test_nothing_at_all_is_said_to_be_nothing(text: str) -> None:
    reading = read(text, OURS)
    assert (rule(reading), words(reading)) == ("code empty", "Nothing was read.")


@pytest.mark.parametrize("text", ["4006381333931", "Q-1043", "oil the board", "B" * 400])
def test_text_that_is_no_code_is_foreign(text: str) -> None:
    reading = read(text, OURS)
    assert rule(reading) == "code foreign"
    assert "is not one of this workshop's codes" in words(reading)
    assert len(words(reading)) < 100


def test_a_code_of_no_known_kind_is_foreign() -> None:
    strange = next(
        f"A0000{last}{check_character(f'A0000{last}')}"
        for last in SYMBOLS
        if check_character(f"A0000{last}") in SYMBOLS
    )
    assert rule(read(strange, OURS)) == "code foreign"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (GOOD[:-1], "6 symbols, a code has 7"),
        (GOOD + "7", "8 symbols, a code has 7"),
        (GOOD[:3] + "U" + GOOD[4:], "has “U” in it"),
        (GOOD[:3] + "*" + GOOD[4:], "has “*” in it"),
        (GOOD[:3] + "\u00fc" + GOOD[4:], "has “\u00dc” in it"),
        (GOOD[:-1] + ("0" if GOOD[-1] != "0" else "1"), "does not add up"),
    ],
)
def test_a_damaged_code_says_what_is_wrong_with_it(text: str, said: str) -> None:
    reading = read(text, OURS)
    assert (rule(reading), reading.code, reading.kind) == ("code damaged", "", None)
    assert said in words(reading)


def test_empty_foreign_and_damaged_have_their_own_words_and_next_steps() -> None:
    found = [read(text, OURS).finding for text in ("", "oil the board", GOOD[:-1])]
    assert len({one.words for one in found if one}) == 3
    assert len({one.then for one in found if one}) == 3
    assert all(one and one.severity is Severity.STOP for one in found)


@given(st.text() | st.text().map(lambda text: f"https://bench.example/{text}"))
def test_any_text_is_read_without_falling_over(text: str) -> None:
    reading = read(text, OURS)
    assert (reading.kind is None) == bool(reading.finding)
    assert bool(reading.code) == (reading.finding is None)


def test_the_printed_form_is_in_two_groups() -> None:
    assert pretty("B7M49Q2") == "B7M4-9Q2"


def test_each_kind_has_its_words() -> None:
    assert [kind.words for kind in Kind] == [
        "body tag", "neck tag", "tray label", "badge card", "printed sheet",
        "gauge tag", "slot label",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "station"),
    [
        ("HTTP://BENCH.EXAMPLE/AT/J", "J"),
        ("https://10.0.0.7:8000/at/j/", "J"),
        ("bench.example/AT/NK1", "NK1"),
        ("AT J", "J"),
        ("at   nk1 ", "NK1"),
        ("HTTP://ELSEWHERE.EXAMPLE/AT/J", ""),
        ("HTTP://BENCH.EXAMPLE/AT/JOINT", ""),
        ("HTTP://BENCH.EXAMPLE/AT/J/K", ""),
        ("HTTP://BENCH.EXAMPLE/AT/", ""),
        ("/AT/J", ""),
        ("AT", ""),
        ("ATJ", ""),
        ("AT J K", ""),
        ("", ""),
        (GOOD, ""),
    ],
)
def test_a_stations_card_is_read_scanned_or_typed_and_nothing_else_is(
    text: str, station: str
) -> None:
    assert read_station(text, OURS) == station


@given(codes)
def test_no_tag_is_taken_for_the_card_of_a_station(code: str) -> None:
    for text in (code, pretty(code), f"http://bench.example/{code}", f"AT {code}"):
        assert read_station(text, OURS) == ""
