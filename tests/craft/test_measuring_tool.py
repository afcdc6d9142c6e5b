"""A measuring tool as it stands, and the values of a study as they are typed.

Gauges and figures are invented; that a check holds to the end of its last day is common
practice, no source.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from itertools import product

import pytest

from shop.craft.finding import Severity
from shop.craft.measuring import entered
from shop.craft.measuring.tool import RULE, Tool

FEELER = Tool("G-01", "feeler set", "G0", 90, checked_on=date(2031, 1, 1), passed=True)
NEVER = Tool("G-02", "caliper", "G1", 90)
FAILED = Tool("G-03", "dial", "G2", 90, checked_on=date(2031, 1, 1), passed=False)
AWAY = Tool("G-04", "old rule", "G3", 90, retired=True)
LAST = date(2031, 4, 1)


@pytest.mark.parametrize(
    ("tool", "on", "standing", "words"),
    [
        (FEELER, LAST, "checked until 2031-04-01", ""),
        (
            FEELER,
            date(2031, 4, 2),
            "overdue since 2031-04-01",
            "G-01 feeler set was to be checked by 2031-04-01: 1 day overdue.",
        ),
        (NEVER, LAST, "never checked", "G-02 caliper was never checked."),
        (
            FAILED,
            LAST,
            "failed its check on 2031-01-01",
            "G-03 dial failed its check on 2031-01-01.",
        ),
    ],
)
def test_a_tool_stands_by_its_last_check(tool: Tool, on: date, standing: str, words: str) -> None:
    assert tool.standing(on) == standing
    assert " ".join(one.words for one in tool.findings(on)) == words
    assert tool.overdue(on) is bool(words)


def test_what_is_found_of_a_tool_never_stops() -> None:
    found = [one for tool in (NEVER, FAILED, AWAY) for one in tool.findings(LAST)]
    assert [(one.rule, one.severity) for one in found] == [(RULE, Severity.WARN)] * 3


def test_a_tool_that_is_put_away_says_so_before_anything_else() -> None:
    assert AWAY.findings(LAST)[0].words == "G-04 old rule was put away: nobody checks it any more."


# --- a study as it is typed ---


def test_a_table_is_read_by_part_person_and_time() -> None:
    spots = list(product((1, 2), (1, 2), (1, 2)))
    typed = {spot: f"1,{spot[0]}{spot[1]}{spot[2]}" for spot in spots}
    found = entered.table(typed, 2, 2, 2)
    assert found.problems == ()
    assert found.values[1][0][1] == Decimal("1.212")


def test_of_a_table_with_many_gaps_the_first_are_named_and_the_rest_counted() -> None:
    found = entered.table({(1, 1, 1): "1.0", (1, 1, 2): "wide"}, 2, 2, 2)
    assert found.values == ()
    assert found.problems == (
        "Part 1, person 1, time 2: wide is no number. Write it as 8.73 or 8,73.",
        "Part 1, person 2, time 1: nothing was entered.",
        "Part 1, person 2, time 2: nothing was entered.",
        "4 more values cannot be taken.",
    )


@pytest.mark.parametrize("apart", [",", ";", "\t"])
def test_a_list_is_read_between_commas_semicolons_or_tabs(apart: str) -> None:
    rows = ["part,person,value", "1,Ana,1.0", "1,Ben,1.1", "", "1,Ana,1.2", "1,Ben,1.3"]
    found = entered.rows("\n".join(one.replace(",", apart) for one in rows))
    assert found.values == (((Decimal("1.0"), Decimal("1.2")), (Decimal("1.1"), Decimal("1.3"))),)


def test_a_list_without_a_head_keeps_its_first_row() -> None:
    assert entered.rows("1,Ana,1.0").values == (((Decimal("1.0"),),),)


def test_inches_have_their_mark_in_a_list_too() -> None:
    assert entered.rows("1;Ana;0.1 in").values == (((Decimal("2.54"),),),)


def test_rows_that_are_none_are_named_by_their_number() -> None:
    found = entered.rows("part;person;value\n1;Ana;1,0\n\n1;Ana\n1;Ana;thick")
    assert found.values == ()
    assert found.problems == (
        "Row 4 has 2 columns: part, person and value are wanted.",
        "Row 5: thick is no number. Write it as 8.73 or 8,73.",
    )


def test_a_person_who_left_a_part_out_has_no_value_there() -> None:
    found = entered.rows("1;Ana;1.0\n1;Ben;1.0\n2;Ana;1.0")
    assert found.values[1] == ((Decimal("1.0"),), ())
