"""One phone in many hands: from badge to badge, with the network and without it; and screens as
each person likes them.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.template.loader import render_to_string
from PIL import Image
from playwright.sync_api import BrowserContext, Locator, Page, expect

from tests.browser import books
from tests.browser.conftest import breaches, hand_over
from tests.browser.screens import SCREENS
from tests.browser.shop import Furnished, Shop, opened
from tests.browser.test_screens import TOO_FINE, TOO_SMALL, TOO_WIDE

IDLE_S = 8
PAD_WITHIN_MS = 20_000
WHO = "async () => (await import('/static/phone/store.js')).get('who')"


@pytest.fixture(scope="module")
def restless(furnished_shop: Furnished, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """The demo workshop with a short idle time."""
    place = tmp_path_factory.mktemp("restless")
    with opened(furnished_shop, place, HEELCAP_IDLE_SECONDS=str(IDLE_S)) as one:
        yield one


@pytest.fixture
def pocket(restless: Shop, new_context: Callable[..., BrowserContext]) -> Page:
    """A phone that P-14 held and P-11 holds now, which will lose its network."""
    context = new_context(
        base_url=restless.address, viewport={"width": 390, "height": 844}, locale="en",
        has_touch=True, is_mobile=True,
    )  # fmt: skip
    page = context.new_page()
    hand_over(page, restless, "P-14", "1414")
    hand_over(page, restless, "P-11", "1111")
    return page


def pad(page: Page) -> Locator:
    return page.locator("#lock")


def enter(page: Page, where: Locator, pin: str) -> None:
    for digit in pin:
        where.locator(f"[data-key='{digit}']").click()
    where.get_by_role("button", name="Enter the PIN").click()


def strip(page: Page) -> Locator:
    return page.locator("header [data-switch] b")


def who(page: Page) -> dict[str, Any]:
    found: dict[str, Any] = page.evaluate(WHO) or {}
    return found


def wait_until(page: Page, so: Callable[[], bool], what: str) -> None:
    for _ in range(150):
        if so():
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"{what}: not within 15 s")


# --- with the network ---


def test_two_taps_and_a_pin_bring_the_next_badge_to_the_same_page(phone: Page, shop: Shop) -> None:
    hand_over(phone, shop, "P-14", "1414")
    hand_over(phone, shop, "P-11", "1111")
    code = books.body_tag(shop, "Q-1043")
    phone.goto(f"/{code}?at=bench")
    strip(phone).click()
    expect(phone.get_by_role("heading", name="Last at this phone")).to_be_in_viewport()
    phone.get_by_role("button", name="P-14").click()
    enter(phone, phone.locator("main"), "1414")
    phone.wait_for_url(f"**/{code}?at=bench")
    expect(strip(phone)).to_have_text("P-14")


def test_the_pad_over_an_idle_page_lets_another_badge_go_on_there(
    pocket: Page, restless: Shop
) -> None:
    code = books.body_tag(restless, "Q-1043")
    pocket.goto(f"/{code}")
    expect(pad(pocket)).to_contain_text("Locked: badge P-11", timeout=PAD_WITHIN_MS)
    pad(pocket).get_by_role("button", name="P-14").click()
    enter(pocket, pocket.locator("main"), "1414")
    pocket.wait_for_url(f"**/{code}")
    expect(strip(pocket)).to_have_text("P-14")


# --- without it ---


@pytest.fixture
def away(pocket: Page, restless: Shop) -> Page:
    """The page of an instrument on a phone that lost its network and was laid down."""
    pocket.goto(f"/{books.body_tag(restless, 'Q-1043')}")
    wait_until(pocket, lambda: who(pocket).get("badge") == "P-11", "the badge was not known")
    pocket.evaluate("document.addEventListener('heelcap:locked', () => { window.locked = true; })")
    pocket.context.set_offline(True)
    expect(pad(pocket)).to_contain_text("no PIN can be checked", timeout=PAD_WITHIN_MS)
    return pocket


def go_on(page: Page, badge: str) -> None:
    pad(page).get_by_role("button", name=f"Go on as {badge} without the network").click()
    expect(pad(page)).to_be_empty()


def test_a_phone_without_network_locks_as_well(away: Page) -> None:
    assert away.evaluate("locked") is True
    assert who(away).get("proof") == ""
    for _ in range(15):
        away.keyboard.press("Tab")
        expect(away.locator("main :focus, header :focus")).to_have_count(0)


def test_the_badges_of_this_phone_are_offered_and_go_on_unproven(away: Page) -> None:
    offered = pad(away).locator("[data-as]").all_inner_texts()
    assert offered == [f"Go on as {one} without the network" for one in ("P-11", "P-14")]
    go_on(away, "P-14")
    expect(strip(away)).to_have_text("P-14, not seen yet")
    told = who(away)
    assert (told["badge"], told["proof"]) == ("P-14", "")


def test_a_badge_that_goes_on_unseen_is_locked_again_by_its_idle_time(away: Page) -> None:
    go_on(away, "P-14")
    expect(pad(away)).to_contain_text("no PIN can be checked", timeout=PAD_WITHIN_MS)


def test_the_pad_comes_as_soon_as_the_shop_is_back(away: Page) -> None:
    go_on(away, "P-14")
    away.context.set_offline(False)
    expect(pad(away)).to_contain_text("Locked: badge P-11", timeout=PAD_WITHIN_MS)
    told = who(away)
    assert (told["badge"], told["proof"]) == ("P-11", "")
    expect(strip(away)).to_have_text("P-11")
    # The shop itself knows nobody there until a PIN was right.
    assert away.context.request.get("/scan/").status == 401
    enter(away, pad(away), "1111")
    expect(pad(away)).to_be_empty()
    wait_until(away, lambda: who(away).get("proof", "") != "", "the badge was not proven again")


def test_a_locked_phone_that_finds_the_shop_again_asks_for_the_pin(away: Page) -> None:
    away.context.set_offline(False)
    expect(pad(away)).to_contain_text("Locked: badge P-11", timeout=PAD_WITHIN_MS)


def test_another_page_does_not_make_a_claimed_badge_a_seen_one(away: Page, restless: Shop) -> None:
    """A page that comes fresh from the shop while somebody goes on unseen: the pad lies on it."""
    go_on(away, "P-14")
    away.context.set_offline(False)
    away.goto("/scan/")
    found = away.get_by_text("Locked: badge P-11").or_(
        away.get_by_role("heading", name="Badge P-11")
    )
    expect(found).to_be_visible(timeout=PAD_WITHIN_MS)


def test_a_pin_that_cannot_reach_the_shop_is_said_so(pocket: Page) -> None:
    pocket.goto("/scan/")
    expect(pad(pocket)).to_contain_text("Locked: badge P-11", timeout=PAD_WITHIN_MS)
    pocket.context.set_offline(True)
    enter(pocket, pad(pocket), "1111")
    expect(pad(pocket)).to_contain_text("no PIN can be checked")


def test_a_tap_on_the_badge_offers_the_same_without_the_network(pocket: Page) -> None:
    pocket.goto("/scan/")
    pocket.context.set_offline(True)
    strip(pocket).click()
    expect(pad(pocket)).to_contain_text("no PIN can be checked")
    go_on(pocket, "P-14")
    assert pocket.url.endswith("/scan/")


def test_the_pad_without_the_network_meets_the_guidelines(away: Page) -> None:
    """WCAG 2.2 A and AA (W3C, 2023) as axe-core reads them."""
    for light in ("light", "dark"):
        away.emulate_media(color_scheme=light)
        assert breaches(away) == []
    assert away.evaluate(TOO_SMALL, [48, 72]) == []


# --- screens as they are liked ---


def like(page: Page, shop: Shop, badge: str, **choices: str) -> None:
    hand_over(page, shop, badge, badge.removeprefix("P-") * 2)
    for what, how in choices.items():
        page.goto("/screens/")
        page.locator(f"button[name={what}][value={how}]").click()
        expect(page.locator(f"button[name={what}][value={how}]")).to_have_attribute(
            "aria-current", "true"
        )


def lefts(page: Page, *selectors: str) -> list[float]:
    found = [page.locator(one).first.bounding_box() for one in selectors]
    return [box["x"] for box in found if box]


def test_a_left_thumb_finds_the_acting_keys_on_its_side(phone: Page, shop: Shop) -> None:
    code = books.body_tag(shop, "Q-1044")
    keys = [f".figures [data-key='{one}']" for one in ("1", "2", "3", "back", "next")]

    def row() -> list[float]:
        phone.goto(f"/{code}/gauge/")
        phone.locator(".figure-in").first.click()
        return lefts(phone, *keys)

    hand_over(phone, shop, "P-11", "1111")
    one, two, three, back, on = row()
    assert one < two < three < back == on
    like(phone, shop, "P-11", thumb="left")
    one, two, three, back, on = row()
    assert on == back < one < two < three
    like(phone, shop, "P-11", thumb="right")


def test_the_pin_pad_keeps_its_figures_and_turns_its_acting_keys(phone: Page, shop: Shop) -> None:
    like(phone, shop, "P-12", thumb="left")
    phone.evaluate("document.body.dataset.idleS = '5'")
    phone.goto("/sign-in/?badge=P-12")
    keys = ["[data-key='1']", "[data-key='3']", ".keys .enter", "[data-key='0']", "[data-key=back]"]
    one, three, ok, zero, back = lefts(phone, *keys)
    assert one < three
    assert ok < zero < back
    like(phone, shop, "P-12", thumb="right")


# What an operator, an inspector and a clerk look at all day.
DAILY = {
    "scan", "scan, last tags", "scan, damaged code", "station", "instrument",
    "instrument, deviations", "instrument, twelve strings", "instrument, left-handed",
    "instrument, held", "tray", "stop", "screens", "measure", "posts asked", "route", "history",
    "beside", "sign-in", "PIN pad", "what happened", "case", "trays", "bin", "lots", "floor",
    "settle one, quiet", "not yours",
}  # fmt: skip


@pytest.mark.parametrize(
    "screen", [one for one in SCREENS if one.name in DAILY], ids=lambda one: one.name
)
def test_the_largest_text_stays_on_a_narrow_screen(phone: Page, shop: Shop, screen: Any) -> None:
    """WCAG 2.2, 1.4.10 Reflow: no sideways scrolling at 320 CSS px."""
    if screen.badge:
        hand_over(phone, shop, screen.badge, screen.badge.removeprefix("P-") * 2)
    screen.way(phone, shop)
    usual = phone.evaluate("getComputedStyle(document.body).fontSize")
    phone.set_viewport_size({"width": 320, "height": 844})
    phone.evaluate("document.documentElement.dataset.text = 'largest'")
    assert (usual, phone.evaluate("getComputedStyle(document.body).fontSize")) == ("18px", "24.3px")
    found = phone.evaluate(TOO_WIDE)
    assert found == [], "\n".join(found)
    assert phone.evaluate(TOO_SMALL, [48, 72]) == []
    assert phone.evaluate(TOO_FINE, 16) == []


def test_the_choice_of_screens_meets_the_guidelines_as_large_as_it_gets(
    phone: Page, shop: Shop
) -> None:
    """WCAG 2.2 A and AA (W3C, 2023) as axe-core reads them."""
    like(phone, shop, "P-13", text_size="largest", thumb="left")
    assert breaches(phone) == []
    like(phone, shop, "P-13", text_size="usual", thumb="right")


# --- without colours of its own, without motion ---


def ink(picture: bytes) -> float:
    """How much of a picture is far from its ground, which its first corner shows."""
    levels = Image.open(io.BytesIO(picture)).convert("L").tobytes()
    far = [abs(level - levels[0]) > 100 for level in levels]
    return sum(far) / len(far)


@pytest.mark.parametrize("light", ["light", "dark"])
def test_a_mark_keeps_its_shape_in_forced_colours(phone: Page, shop: Shop, light: Any) -> None:
    """CSS Color Adjustment Level 1 (W3C): colours of the reader's own choosing. A face that lost
    what is drawn inside it would be all face: each mark is drawn in part, and each otherwise.
    """
    hand_over(phone, shop, "P-11", "1111")
    phone.goto("/scan/")
    drawn = {}
    show = "(mark) => { document.body.innerHTML = mark; }"  # a line of the page's would move it
    for forced in ("none", "active"):
        phone.emulate_media(color_scheme=light, forced_colors=forced)
        for kind in ("stop", "warn", "note", "clear", "wait"):
            mark = render_to_string("drawing/mark.svg", {"kind": kind})
            phone.evaluate(show, mark)
            drawn[forced, kind] = ink(phone.locator(".mark").screenshot())
    for kind in ("stop", "warn", "note", "clear", "wait"):
        as_made, as_forced = drawn["none", kind], drawn["active", kind]
        assert 0.1 < as_forced < 0.9, (kind, as_forced)
        if kind != "warn":  # its yellow is no ink on paper
            assert abs(as_made - as_forced) < 0.08, (kind, as_made, as_forced)
    assert len({round(drawn["active", kind], 2) for kind in ("stop", "warn", "note", "clear")}) == 4


def test_with_less_motion_nothing_moves(phone: Page, shop: Shop) -> None:
    hand_over(phone, shop, "P-11", "1111")
    phone.goto("/scan/")
    moving = """() => [...document.querySelectorAll("*")].filter((one) => {
      const { transitionDuration, animationName } = getComputedStyle(one);
      return parseFloat(transitionDuration) > 0 || animationName !== "none";
    }).length"""
    assert phone.evaluate(moving) > 0
    phone.emulate_media(reduced_motion="reduce")
    assert phone.evaluate(moving) == 0
