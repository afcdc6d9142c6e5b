"""The pages of formulas."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from shop.craft import formulas
from shop.craft.formula import Formula
from tests.bench.screens import signed_in

pytestmark = pytest.mark.usefixtures("today")

EVERY = [one for _, those in formulas.families() for one in those]


@pytest.fixture
def phone() -> Client:
    return signed_in("P-11")


@pytest.mark.parametrize("one", EVERY, ids=[one.key for one in EVERY])
def test_a_formulas_page_works_its_example(phone: Client, one: Formula[Any]) -> None:
    page = phone.get(f"/formulas/{one.key}/")
    assert page.status_code == 200
    text = page.content.decode()
    assert f"{one.example:.{one.places}f}".replace("-", "\u2212") in text


def test_the_list_leads_to_every_formula(phone: Client) -> None:
    text = phone.get("/formulas/").content.decode()
    assert all(f'href="/formulas/{one.key}/"' in text for one in EVERY)


def test_there_is_no_page_for_a_formula_nobody_declared(phone: Client) -> None:
    assert phone.get("/formulas/perpetual-motion/").status_code == 404
