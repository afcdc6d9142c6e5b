"""Finished sentences said in another language: known by their fixed words, figures kept."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.phrasebook import Phrasebook, searched

BOOK = Phrasebook(
    {
        "Bushing {od} in hole {hole}: it will fall out.": "Casquillo {od} en {hole}: se caerá.",
        "Put the set back in {bin} and take {key}.": "Deje en {bin}, tome {key}.",
        "Ready {when}.": "Listo {when}.",
        "{serial} was frozen by {by}: {words}": "{by} congeló {serial}: {words}",
        "Fri {time}": "vie {time}",
        "tomorrow": "mañana",
        "{who} began {what} at {where}.": "{who} comenzó {what} en {where}.",
        "Room {value}{THIN}{unit} now.": "Taller a {value}{THIN}{unit} ahora.",
        "Left": "Izquierda",
        "{n} of it is short.": "Falta {n}.",
        "The hold of {hold} is over.": "El reposo de {hold} terminó.",
    }
)  # fmt: skip
figures = st.decimals(0, 999, places=2).map(str)


@given(figures, figures)
def test_figures_go_into_the_other_language(od: str, hole: str) -> None:
    said = BOOK.say(f"Bushing {od} in hole {hole}: it will fall out.")
    assert said == f"Casquillo {od} en {hole}: se caerá."


def test_several_sentences_are_said_one_by_one() -> None:
    words = (
        "Bushing 8.35 in hole 8.73: it will fall out. "
        "Put the set back in A-03 and take T01. Ready Fri 14:10."
    )
    assert BOOK.say(words) == (
        "Casquillo 8.35 en 8.73: se caerá. Deje en A-03, tome T01. Listo vie 14:10."
    )


def test_what_stands_in_a_place_may_be_sentences_where_nothing_else_fits() -> None:
    words = "Q-1043 was frozen by P-01: Wholly new. Never heard"
    assert BOOK.say(words) == "P-01 congeló Q-1043: Wholly new. Never heard"


def test_a_value_that_is_a_phrase_is_said_too() -> None:
    assert BOOK.say("Ready tomorrow.") == "Listo mañana."


def test_places_may_change_their_order() -> None:
    assert BOOK.say("Q-1043 was frozen by P-01: Left") == "P-01 congeló Q-1043: Izquierda"


def test_the_first_letter_may_be_large_or_small() -> None:
    assert (BOOK.say("Tomorrow"), BOOK.say("left")) == ("Mañana", "izquierda")


def test_an_unknown_sentence_between_known_ones_stays() -> None:
    assert BOOK.say("Ready tomorrow. Wholly new. Left") == "Listo mañana. Wholly new. Izquierda"


def test_a_short_sentence_is_known_by_the_badge_it_begins_with() -> None:
    assert BOOK.say("P-11 began N40 Fit it at Neck.") == "P-11 comenzó N40 Fit it en Neck."
    assert BOOK.say("They began it at noon.") == "They began it at noon."


def test_the_thin_space_before_a_unit_takes_no_figure_with_it() -> None:
    assert BOOK.say("Room 30\u202f°C now.") == "Taller a 30\u202f°C ahora."


def test_spaces_around_it_stay() -> None:
    assert BOOK.say(" tomorrow ") == " mañana "
    assert BOOK.say("  ") == "  "


def test_things_of_a_list_are_said_one_by_one() -> None:
    assert BOOK.say("left, tomorrow, T01") == "izquierda, mañana, T01"


@given(st.text(max_size=40))
def test_whatever_it_is_given_it_answers_with_text(words: str) -> None:
    assert isinstance(BOOK.say(words), str)


def test_what_has_no_words_is_left_alone() -> None:
    assert BOOK.say("8.73") == "8.73"
    assert BOOK.say("") == ""


STATIONS = Phrasebook(
    {
        "Take {serial} to {station}, or set your station.": "Lleve {serial} a {station}.",
        "{who} recorded {what}: {why}.": "{who} registró {what}: {why}.",
        "next at {station}": "para seguir en {station}",
        "Frozen {since} by {by}: {words}": "Congelado {since} por {by}: {words}",
        "The list for {day} closes.": "La lista del {day} cierra.",
        "{key} {code} in {bin}": "{key} {code} en {bin}",
        "{one} and {other}": "{one} y {other}",
        "Joint": "Unión",
        "nut": "cejuela",
        "saddle": "hueso",
        "Tue": "mar",
        "Up to 2 mm": "Hasta 2 mm",
        "It was not done": "No se hizo",
        "One to a page, on its own size": "Uno por página, de su tamaño",
    }
)
"""A book that knows words which are the names of stations too."""


@pytest.mark.parametrize("name", ["Joint", "Nut and saddle", "J10 Joint"])
def test_a_name_in_the_middle_of_a_sentence_stays_as_the_shop_gave_it(name: str) -> None:
    said = STATIONS.say(f"Take Q-1041 to {name}, or set your station.")
    assert said == f"Lleve Q-1041 a {name}."
    assert STATIONS.say(f"next at {name}") == f"para seguir en {name}"


def test_a_day_in_the_middle_of_a_sentence_is_no_name() -> None:
    assert STATIONS.say("The list for Tue closes.") == "La lista del mar cierra."


def test_a_word_that_is_a_name_elsewhere_is_said_where_it_stands_alone() -> None:
    assert STATIONS.say("Joint") == "Unión"
    assert STATIONS.say("P-14 recorded B20: It was not done.") == "P-14 registró B20: No se hizo."


def test_what_somebody_typed_is_said_whole_or_stays_whole() -> None:
    typed = "Up to 2 mm: fill the slot. More: warm the bridge off"
    assert STATIONS.say(f"P-14 recorded B20: {typed}.") == f"P-14 registró B20: {typed}."
    assert STATIONS.say("Frozen Tue by P-31: Up to you") == "Congelado mar por P-31: Up to you"


def test_the_words_of_an_operation_are_no_phrase() -> None:
    assert STATIONS.say("I20 Put it in its case") == "I20 Put it in its case"


def test_things_side_by_side_are_each_said_by_themselves() -> None:
    said = STATIONS.say("Bench by the door · one to a page, on its own size")
    assert said == "Bench by the door · uno por página, de su tamaño"


def test_figures_beside_what_is_known_do_not_make_it_unknown() -> None:
    book = Phrasebook(
        {
            "Bushing in hole {hole}:": "Casquillo en agujero {hole}:",
            "{fit} loose, it will fall out.": "{fit} flojo, se caerá.",
        }
    )
    words = "Bushing in hole 8.73\u202fmm: 0.38\u202fmm loose, it will fall out."
    assert book.say(words) == ("Casquillo en agujero 8.73\u202fmm: 0.38\u202fmm flojo, se caerá.")


FLOOR = Phrasebook(
    {
        "{who} opened its tray again: {why}.": "{who} abrió su bandeja otra vez: {why}.",
        "{what} in the tray": "{what} en la bandeja",
        "{words} left machine": "{words} clavija izquierda",
        "Up to {words}": "Hasta {words}",
        "The tray has {what}; {does}.": "La bandeja tiene {what}; {does}.",
        "{doing} needs other eyes.": "{doing} necesita otros ojos.",
        "You did {doing}. {then}": "Usted hizo {doing}. {then}",
        "it is paired with neck {neck}": "se une al mástil {neck}",
        "Dropped": "Caída",
        "you": "su lugar",
        "first": "primera",
    }
)
"""A book in which parts of what somebody types are known."""


@pytest.mark.parametrize(
    "typed", ["wrong bushing in the tray", "the left machine", "a left machine", "up to you"]
)
def test_what_somebody_typed_is_never_half_said(typed: str) -> None:
    said = FLOOR.say(f"P-01 opened its tray again: {typed}.")
    assert said == f"P-01 abrió su bandeja otra vez: {typed}."


def test_a_reason_that_a_button_offers_is_said() -> None:
    assert FLOOR.say("P-01 opened its tray again: Dropped.").endswith("otra vez: Caída.")
    assert FLOOR.say("P-01 opened its tray again: dropped.").endswith("otra vez: caída.")


def test_what_the_trade_says_after_a_colon_is_known_by_its_codes() -> None:
    said = FLOOR.say("P-01 opened its tray again: it is paired with neck K-2091.")
    assert said == "P-01 abrió su bandeja otra vez: se une al mástil K-2091."


def test_what_stands_in_a_place_is_said_where_all_of_it_is_known() -> None:
    said = FLOOR.say("The tray has first left machine; two in the tray.")
    assert said == "La bandeja tiene primera clavija izquierda; two in the tray."


def test_an_operation_is_a_name_also_where_a_sentence_in_a_place_begins_with_it() -> None:
    said = FLOOR.say("You did I10 Inspect. I30 Inspect again needs other eyes.")
    assert said == "Usted hizo I10 Inspect. I30 Inspect again necesita otros ojos."


def test_a_list_is_searched_in_the_words_of_the_record_and_in_the_readers() -> None:
    assert searched("Q-1043 Left", BOOK.say) == "q-1043 left q-1043 izquierda"
