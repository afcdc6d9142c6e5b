"""Every screen at the width of a phone: readable by all, by day and by night, with gloves on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.conftest import REPORT_REFUSALS, breaches, hand_over, listen
from tests.browser.screens import SCREENS, Screen
from tests.browser.shop import Shop

WIDTHS = (390, 320)  # px; 320 is the width of WCAG 2.2, 1.4.10 Reflow
TARGET_PX = 48
ACT_PX = 72
WORDS_PX = 16


@pytest.fixture(scope="module", params=SCREENS, ids=lambda screen: screen.name)
def screen(request: pytest.FixtureRequest, shop: Shop, browser: Browser) -> Iterator[Page]:
    """A phone that shows the screen; it hears what the console says on the way there."""
    wanted: Screen = request.param
    context = browser.new_context(
        base_url=shop.address,
        viewport={"width": 390, "height": 844},
        device_scale_factor=2,
        has_touch=True,
        is_mobile=True,
        locale="en",
    )
    context.add_init_script(REPORT_REFUSALS)
    page = context.new_page()
    errors: list[str] = []
    listen(page, errors)
    if wanted.badge:
        hand_over(page, shop, wanted.badge, wanted.badge.removeprefix("P-") * 2)
    wanted.way(page, shop)
    page.wait_for_load_state()  # a tap that opens a page comes back before the page is there
    yield page
    context.close()
    assert errors == [], f"the console on the way to {wanted.name}"


@pytest.mark.parametrize("light", ["light", "dark"])
def test_a_screen_meets_the_guidelines_by_day_and_by_night(screen: Page, light: Any) -> None:
    """WCAG 2.2 A and AA (W3C, 2023) as axe-core reads them."""
    screen.emulate_media(color_scheme=light)
    # At its end, where a button that sticks to the glass lies over nothing.
    screen.evaluate("scrollTo(0, document.body.scrollHeight)")
    found = breaches(screen)
    assert found == [], "\n".join(found)


@pytest.mark.parametrize("width", WIDTHS)
def test_a_screen_never_scrolls_sideways(screen: Page, width: int) -> None:
    """WCAG 2.2, 1.4.10 Reflow: no sideways scrolling down to 320 CSS px."""
    screen.set_viewport_size({"width": width, "height": 844})
    found = screen.evaluate(TOO_WIDE)
    assert found == [], "\n".join(found)


@pytest.mark.parametrize("width", WIDTHS)
def test_what_is_tapped_is_large_enough_for_a_glove(screen: Page, width: int) -> None:
    """48 px at least, 72 px for the screen's one act: the shop's own, stricter than the 24 px
    of WCAG 2.2, 2.5.8 Target Size. As there, links in running text are left out.
    """
    screen.set_viewport_size({"width": width, "height": 844})
    found = screen.evaluate(TOO_SMALL, [TARGET_PX, ACT_PX])
    assert found == [], "\n".join(found)


@pytest.mark.parametrize("width", WIDTHS)
def test_no_word_is_smaller_than_16_px(screen: Page, width: int) -> None:
    """The shop's own measure, words inside drawings as they appear on screen."""
    screen.set_viewport_size({"width": width, "height": 844})
    found = screen.evaluate(TOO_FINE, WORDS_PX)
    assert found == [], "\n".join(found)


TOO_WIDE = """() => {
  if (document.documentElement.scrollWidth <= innerWidth) return [];
  return [...document.querySelectorAll("body *")]
    .filter((one) => one.getBoundingClientRect().right > innerWidth + 0.5)
    .map((one) => one.outerHTML.slice(0, 120));
}"""

SHOWN = """
  const shown = (one) => one.checkVisibility({ visibilityProperty: true })
    && !one.closest(".hidden-words, .skip, [inert]");
"""

TOO_SMALL = (
    "([least, act]) => {"
    + SHOWN
    + """
  const inText = (one) => one.matches("a") && getComputedStyle(one).display === "inline"
    && [...one.parentElement.childNodes].some((node) => node.nodeType === 3 && node.data.trim());
  const tapped = (one) => one.matches("input[type=radio], input[type=checkbox]")
    ? one.closest("label") ?? document.querySelector(`label[for="${one.id}"]`) ?? one
    : one;
  const found = document.querySelectorAll(
    "a[href], button, input:not([type=hidden]), select, textarea, summary, label.button");
  return [...found].map(tapped).filter(shown).filter((one) => !inText(one)).flatMap((one) => {
    const { width, height } = one.getBoundingClientRect();
    const wanted = one.matches(".act") ? act : least;
    const fits = height >= wanted - 0.01 && width >= least - 0.01;
    const size = `${Math.round(width)} × ${Math.round(height)}`;
    return fits ? [] : [`${size}: ${one.outerHTML.slice(0, 120)}`];
  });
}"""
)

TOO_FINE = (
    "(least) => {"
    + SHOWN
    + """
  const words = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const found = [];
  while (words.nextNode()) {
    const one = words.currentNode.parentElement;
    if (!words.currentNode.data.trim() || one.matches("script, option, title, desc")) continue;
    if (!shown(one)) continue;
    const scale = one instanceof SVGElement ? one.getScreenCTM().a : 1;
    const size = parseFloat(getComputedStyle(one).fontSize) * scale;
    if (size < least - 0.01) found.push(`${size.toFixed(1)} px: ${words.currentNode.data.trim()}`);
  }
  return found;
}"""
)
