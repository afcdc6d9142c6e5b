"""An area of a look on a phone: what was noted before is chosen by one tap, also where the network
is gone. Common practice, no source."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser import ways
from tests.browser.conftest import breaches, hand_over
from tests.browser.shop import Shop

INSPECTOR = ("P-31", "3131")


@pytest.fixture
def area(context_of: Callable[..., BrowserContext], shop: Shop) -> Page:
    """The sides of a guitar on a phone that may lose its network."""
    page = context_of(has_touch=True, is_mobile=True).new_page()
    hand_over(page, shop, *INSPECTOR)
    ways.area_seen_twice(page, shop)
    return page


def test_what_was_noted_before_is_shown_only_while_an_item_is_a_defect(area: Page) -> None:
    choice = area.get_by_role("button", name="It is this one").first
    expect(choice).to_contain_text("Swirl, class 4, zone 6 lower bout")
    area.locator("fieldset.item").first.locator(".tap").first.click()
    expect(choice).to_be_hidden()


def test_it_is_chosen_by_one_tap_without_the_network(area: Page, shop: Shop) -> None:
    area.context.set_offline(True)
    area.get_by_role("button", name="It is this one").first.click()
    expect(area.locator("main .finding-wait").last).to_contain_text("Kept on this phone")
    assert breaches(area) == []
    area.context.set_offline(False)
    expect(area.get_by_role("status").filter(has_text="is kept.")).to_be_visible()
    rows = shop.rows(
        "SELECT area, word FROM floor_arealook JOIN floor_defect"
        " ON floor_defect.number = told_by"
        " AND floor_defect.instrument_id = floor_arealook.instrument_id"
    )
    assert rows == [(9, "swirl")]
