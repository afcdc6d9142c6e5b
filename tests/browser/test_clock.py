"""What the phone's own clock says goes with every act, with script; nothing goes without."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

from playwright.sync_api import BrowserContext, Page, expect

from tests.browser import books
from tests.browser.conftest import hand_over
from tests.browser.shop import Shop

# A phone whose clock was never set.
WRONG = datetime(2001, 2, 3, 4, 5, tzinfo=UTC)


def begin(page: Page, shop: Shop) -> None:
    page.goto(f"/{books.body_tag(shop, 'Q-1050')}")
    page.get_by_role("button", name="Start J20").click()
    expect(page.get_by_role("status")).to_contain_text("J20 is begun.")


def leave(page: Page) -> None:
    """By a form that no script sends."""
    page.get_by_role("link", name="Begun by mistake").click()
    with page.expect_navigation():
        page.get_by_role("button", name="Wrong guitar").click()


def claimed(shop: Shop) -> list[str]:
    """The phone's clock with each act on Q-1050 at the benches, the oldest first."""
    rows = shop.rows(
        "SELECT claimed_at FROM floor_entry WHERE subject = 'Q-1050'"
        " AND kind IN ('start', 'left') ORDER BY id"
    )
    return [str(moment)[:16] if moment else "" for (moment,) in rows]


def test_the_phones_clock_goes_with_what_is_tapped(phone: Page, shop: Shop) -> None:
    phone.clock.set_fixed_time(WRONG)
    hand_over(phone, shop, "P-16", "1616")
    before = len(claimed(shop))
    begin(phone, shop)
    leave(phone)
    assert claimed(shop)[before:] == ["2001-02-03 04:05"] * 2


def test_without_script_no_clock_is_claimed(
    context_of: Callable[..., BrowserContext], shop: Shop
) -> None:
    page = context_of(java_script_enabled=False).new_page()
    hand_over(page, shop, "P-16", "1616")
    before = len(claimed(shop))
    begin(page, shop)
    leave(page)
    assert claimed(shop)[before:] == ["", ""]
