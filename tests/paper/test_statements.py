"""What the press asks the database for six instruments it asks for three: all are read together.

A tray label reads its tray by itself.
"""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.floor import board
from shop.paper import press
from tests.floor.morning import NOW
from tests.floor.printed import paper, printed

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

# Two specs twice each, one that departs from its spec; no neck of them is paired yet.
SIX = ["Q-1043", "Q-1062", "Q-1044", "Q-1055", "Q-1061", "Q-1058"]


def statements(form: str, serials: list[str]) -> list[str]:
    with CaptureQueriesContext(connection) as captured:
        sheaf = press.draw(form, serials, NOW)
    assert [one.page.name for one in sheaf.drawn] == serials, sheaf.refused
    return [one["sql"] for one in captured]


@pytest.mark.parametrize("form", ["traveller", "body_tag", "neck_tag"])
def test_six_instruments_take_no_more_statements_than_three(form: str) -> None:
    assert any(one.departures for one in board.by_serials(SIX[:3]).values())
    for serial in SIX:  # each has its codes minted anew, and a tag that is replaced
        printed(serial, form)
    statements(form, SIX)  # the sheets of their specs are read once
    three, six = (statements(form, some) for some in (SIX[:3], SIX))
    assert len(six) == len(three)


def test_drawing_records_nothing() -> None:
    paper("Q-1043")
    written = statements("traveller", SIX)
    assert not any(one.startswith(("INSERT", "UPDATE", "DELETE")) for one in written)
