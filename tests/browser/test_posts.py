"""Tapping a post of the head, with script and without."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser import books
from tests.browser.shop import Shop

SignIn = Callable[[Page, str, str], None]
SENTENCE = (
    "String 5: left side, second from the nut. Right machine, marked 5, 27:1. "
    "Turns counter-clockwise to tighten, seen from here."
)
MIRRORED = (
    "String 5: right side, second from the nut. Right machine, marked 5, 27:1. "
    "Turns clockwise to tighten, seen from here."
)


def open_kit(page: Page, shop: Shop, sign_in: SignIn, serial: str = "Q-1055") -> None:
    """Q-1055 is left-handed, with a graduated set."""
    sign_in(page, "P-11", "1111")
    page.goto(f"/{books.body_tag(shop, serial)}")


def turn_to_back(page: Page) -> None:
    page.locator("label[for=view-back]").click()
    expect(page.locator(".view-back")).to_be_visible()


def test_a_tapped_post_tells_its_sentence_and_the_page_stays_where_it_is(
    phone: Page, shop: Shop, sign_in: SignIn, audit: Callable[[Page], None]
) -> None:
    open_kit(phone, shop, sign_in)
    turn_to_back(phone)
    tapped = phone.locator("a[href='#said-back-R2']")
    tapped.scroll_into_view_if_needed()
    before = phone.evaluate("scrollY")
    tapped.tap()
    line = phone.locator(".view-back [data-said]")
    expect(line).to_have_text(SENTENCE)
    expect(line).to_be_in_viewport(ratio=1)
    expect(tapped).to_have_attribute("aria-current", "true")
    assert phone.evaluate("scrollY") == before
    assert "#" not in phone.url
    audit(phone)


def test_the_frame_moves_to_the_post_tapped_last(phone: Page, shop: Shop, sign_in: SignIn) -> None:
    open_kit(phone, shop, sign_in)
    for key in ("R1", "L3"):
        phone.locator(f"a[href='#said-front-{key}']").tap()
    framed = phone.locator(".view-front [aria-current]")
    expect(framed).to_have_count(1)
    expect(framed).to_have_attribute("href", "#said-front-L3")


def test_a_post_is_reached_and_told_by_the_keyboard(
    phone: Page, shop: Shop, sign_in: SignIn
) -> None:
    open_kit(phone, shop, sign_in)
    link = phone.get_by_role("link", name="String 5, right side, second from the nut")
    phone.locator("#view-front").focus()
    for _ in range(12):
        phone.keyboard.press("Tab")
        if link.evaluate("one => one === document.activeElement"):
            break
    expect(link).to_be_focused()
    assert link.evaluate("one => parseFloat(getComputedStyle(one).strokeWidth)") > 0
    assert link.evaluate("one => getComputedStyle(one).stroke") != "none"
    phone.keyboard.press("Enter")
    expect(phone.locator(".view-front [data-said]")).to_have_text(MIRRORED)


@pytest.mark.parametrize("serial", ["Q-1043", "Q-1058", "Q-1049", "Q-1040", "Q-1061"])
def test_every_post_of_every_head_answers_in_both_views(
    phone: Page, shop: Shop, sign_in: SignIn, serial: str
) -> None:
    open_kit(phone, shop, sign_in, serial)
    for view in ("front", "back"):
        if view == "back":
            turn_to_back(phone)
        links = phone.locator(f".view-{view} .head-taps a").all()
        sentences = phone.locator(f".view-{view} .said li").all_text_contents()
        assert len(links) == len(set(sentences)) == len(sentences) >= 6
        for link, sentence in zip(links, sentences, strict=True):
            link.tap()
            expect(phone.locator(f".view-{view} [data-said]")).to_have_text(sentence)


def test_without_script_a_tapped_post_leads_to_its_sentence_beside_the_drawing(
    context_of: Callable[..., BrowserContext], shop: Shop, sign_in: SignIn
) -> None:
    page = context_of(java_script_enabled=False).new_page()
    open_kit(page, shop, sign_in)
    turn_to_back(page)
    page.locator("a[href='#said-back-R2']").click()
    sentence = page.locator("#said-back-R2")
    expect(sentence).to_be_visible()
    expect(sentence).to_have_text(SENTENCE)
    expect(sentence).to_be_in_viewport(ratio=1)
    expect(page.locator("a[href='#said-back-R1']")).to_be_in_viewport()
    expect(page.locator(".view-back .said li:visible")).to_have_count(1)


def test_without_script_every_post_can_be_read_in_words(
    context_of: Callable[..., BrowserContext], shop: Shop, sign_in: SignIn
) -> None:
    page = context_of(java_script_enabled=False).new_page()
    open_kit(page, shop, sign_in)
    shown = page.locator(".view-front .said li:visible")
    expect(shown).to_have_count(0)
    page.locator(".view-front").get_by_text("Every post in words").click()
    expect(shown).to_have_count(6)
    assert MIRRORED in shown.all_text_contents()
