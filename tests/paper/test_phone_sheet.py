"""The sheet on the wall by which phones are set up."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.utils import translation

from shop.craft.fingerprint import fingerprint
from shop.paper import phones
from shop.paper.refusing import AddressTooLong
from shop.phone.lan.authority import Pair, new_authority
from shop.phone.lan.keeping import Folder
from tests.bench.screens import signed_in
from tests.floor.morning import NOW
from tests.paper.reading import pages, pictures, sizes_mm, squares, squeezed, words

pytestmark = pytest.mark.usefixtures("morning", "db")

SHOP, SIDE = "https://192.168.1.20:843", "http://192.168.1.20:8080"
SHEET = "/paper/phones.pdf"
LINK = "Phone set-up sheet"


@pytest.fixture
def authority(tmp_path: Path, settings: Any) -> Pair:
    settings.LAN_DIR = tmp_path / "lan"
    settings.ADDRESS, settings.SIDE_ADDRESS = SHOP, SIDE
    return Folder(settings.LAN_DIR).keep_first_authority(new_authority(["shop.lan"], NOW))


@pytest.fixture
def lead() -> Client:
    return signed_in("P-01")


@pytest.mark.parametrize("language", ["en", "es"])
def test_it_is_one_a4_in_every_language(authority: Pair, language: str) -> None:
    """ISO 216:2007: A4 is 210 x 297 mm."""
    with translation.override(language):
        [size] = sizes_mm(phones.sheet(NOW))
    assert size == pytest.approx((210, 297), abs=0.1)


def test_both_squares_are_read_and_lead_where_they_say(authority: Pair) -> None:
    """zxing-cpp is an independent reader; RFC 3986, 3.1 and 3.2.2: scheme and host are the
    same in capitals."""
    [side] = pictures(phones.sheet(NOW), 150)
    assert {one.text for one in squares(side)} == {SHOP.upper(), SIDE.upper()}


def test_the_fingerprint_stands_there_to_compare(authority: Pair) -> None:
    text = words(phones.sheet(NOW))
    assert "".join(fingerprint(authority.der)) in text
    assert squeezed(f"Trust “{authority.name}”") in text
    assert squeezed(f"or type {SIDE}") in text
    assert squeezed("Good until 2041-03-01.") in text


def test_the_fingerprint_is_read_at_arms_length(authority: Pair) -> None:
    """Four millimetres; common practice, no source."""
    [page] = pages(phones.sheet(NOW))
    for group in fingerprint(authority.der):
        assert max(min(one) for one in page.heights_of(group)) >= 4


def test_the_lead_prints_it_from_print(authority: Pair, lead: Client) -> None:
    assert LINK in lead.get("/paper/").content.decode()
    answer = lead.get(SHEET)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")


def test_a_shop_with_no_authority_of_its_own_has_no_such_sheet(lead: Client) -> None:
    assert LINK not in lead.get("/paper/").content.decode()
    assert lead.get(SHEET).status_code == 404


def test_an_authority_that_is_gone_is_no_sheet(
    authority: Pair, lead: Client, settings: Any
) -> None:
    (settings.LAN_DIR / "authority.pem").unlink()
    assert lead.get(SHEET).status_code == 404


def test_an_address_that_no_square_holds_is_said(
    authority: Pair, lead: Client, settings: Any
) -> None:
    settings.ADDRESS = f"https://{'a' * 30}.lan"
    with pytest.raises(AddressTooLong):
        phones.sheet(NOW)
    answer = lead.get(SHEET)
    assert answer.status_code == 422
    assert "35 is the most a tag holds" in answer.content.decode()


def test_a_trainee_does_not_print_it(authority: Pair) -> None:
    assert signed_in("P-25").get(SHEET).status_code == 403
