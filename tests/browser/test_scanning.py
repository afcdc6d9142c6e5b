"""Scanning as it goes on a floor: one tag after another, in noise, in the dark, by readers of
every kind; and a screen that stays on while hands are busy.

What a headless browser does not have (a lamp, a tremble, a screen that sleeps, a page out of
sight) stands in for itself: what is asked of it is written down.
"""

from __future__ import annotations

import re
import secrets
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from shop.craft.code import SYMBOLS, Kind, mint, read
from tests.browser import books, camera
from tests.browser.conftest import Show, breaches, hand_over
from tests.browser.shop import Shop
from tests.browser.ways import after_scan, begin, hand_scanner, to_body, type_code

OPERATOR = ("P-11", "1111")
# At the neck bench, at another one, and not a tag.
HERE, ELSEWHERE = "Q-1043", "Q-1061"
MENU = "https://192.0.2.7/menu"
# A second of a film: longer than any look takes.
SECOND = 30

TREMBLES = {"[60]": "clear", "[90,70,90]": "warn", "[300,90,300,90,450]": "stop"}
HEARD = """
window.felt = JSON.parse(sessionStorage.getItem("felt") ?? "[]");
navigator.vibrate = (how) => {
  window.felt.push(JSON.stringify(how));
  sessionStorage.setItem("felt", JSON.stringify(window.felt));
  return true;
};
window.heard = [];
const start = OscillatorNode.prototype.start;
OscillatorNode.prototype.start = function (at) {
  window.heard.push(this.frequency.value);
  return start.call(this, at);
};
"""
OUT_OF_SIGHT = """(hidden) => {
  Object.defineProperty(document, "hidden", { value: hidden, configurable: true });
  document.dispatchEvent(new Event("visibilitychange"));
}"""


@pytest.fixture
def page(phone: Page, shop: Shop) -> Page:
    """A phone of P-11 that writes down what it lets feel and hear."""
    phone.add_init_script(HEARD)
    hand_over(phone, shop, *OPERATOR)
    return phone


@pytest.fixture
def lonely(context_of: Callable[..., BrowserContext], shop: Shop) -> Page:
    """A phone that will lose its network, of which its console may tell."""
    page = context_of(has_touch=True, is_mobile=True).new_page()
    page.add_init_script(HEARD)
    hand_over(page, shop, *OPERATOR)
    return page


@pytest.fixture
def show_each(clip: Path, tmp_path: Path) -> Iterator[Callable[..., None]]:
    """Put tags before the camera one after another, a second each, over and over."""

    def put(*texts: str | None) -> None:
        films = []
        for text in texts:
            camera.film(tmp_path / "one.mjpeg", text)
            frames = (tmp_path / "one.mjpeg").read_bytes()
            films.append(frames * (SECOND // camera.FRAMES))
        clip.write_bytes(b"".join(films))

    yield put
    camera.film(clip, None)


def felt(page: Page) -> list[str]:
    """The kinds of answer that were felt, in their order."""
    return [TREMBLES[one] for one in page.evaluate("felt")]


def rows(page: Page) -> list[str]:
    return page.locator(".on-cart-name").all_inner_texts()


def open_camera(page: Page) -> None:
    page.get_by_role("button", name="Open camera").click()


# --- a cart ---


def test_the_tags_of_a_cart_are_read_once_each_while_the_camera_stays_open(
    page: Page, shop: Shop, show_each: Callable[..., None]
) -> None:
    tags = [books.printed(shop, books.body_tag(shop, one)) for one in (HERE, ELSEWHERE)]
    page.goto("/cart/")
    show_each(tags[0], tags[1], MENU, None)
    open_camera(page)
    expect(page.locator(".on-cart")).to_have_count(3, timeout=15_000)
    page.wait_for_timeout(5000)  # the film begins again
    assert sorted(rows(page)) == sorted([HERE, ELSEWHERE, MENU])
    expect(page.locator("[data-view]")).to_be_visible()
    assert sorted(felt(page)) == ["clear", "stop", "warn"]
    for name, word in ((HERE, "Here"), (ELSEWHERE, "Check"), (MENU, "Stop")):
        expect(page.locator(".on-cart").filter(has_text=name)).to_contain_text(word)


def test_a_row_leads_to_its_instrument_and_the_list_is_there_on_the_way_back(
    page: Page, shop: Shop
) -> None:
    code = books.body_tag(shop, HERE)
    page.goto("/cart/")
    for one in (code, MENU):
        type_code(page, one)
        page.wait_for_timeout(500)
    before = felt(page)
    page.reload()
    expect(page.get_by_text("2 on the list")).to_be_visible()
    page.get_by_role("link", name=HERE).click()
    page.wait_for_url(f"**/{code}")
    page.goto("/cart/")
    assert rows(page) == [MENU, HERE]
    # What was heard once is heard no more.
    assert felt(page)[: len(before)] == before == ["clear", "stop"]
    assert page.evaluate("document.documentElement.dataset.cued") is None


def test_a_tag_that_is_on_the_list_is_said_so_and_makes_no_sound(page: Page, shop: Shop) -> None:
    page.goto("/cart/")
    code = books.body_tag(shop, HERE)
    type_code(page, code)
    expect(page.locator("[data-said]")).to_have_text(f"Here · {HERE}")
    type_code(page, f"{code[:4]}-{code[4:]}".lower())
    expect(page.locator("[data-said]")).to_have_text(f"{HERE} is on the list already.")
    assert (rows(page), felt(page)) == ([HERE], ["clear"])


def test_a_hand_scanner_fills_the_list(page: Page, shop: Shop) -> None:
    page.add_init_script("localStorage.setItem('heelcap.gap', '250')")
    page.goto("/cart/")
    page.locator("h1").click()
    for serial in (HERE, ELSEWHERE):
        hand_scanner(page, books.body_tag(shop, serial))
    expect(page.locator("a.on-cart-name")).to_have_count(2)
    assert sorted(felt(page)) == ["clear", "warn"]


def test_the_list_is_emptied_by_a_tap(page: Page, shop: Shop) -> None:
    page.goto("/cart/")
    type_code(page, books.body_tag(shop, HERE))
    expect(page.locator(".on-cart")).to_have_count(1)
    page.get_by_role("button", name="Empty the list").click()
    expect(page.locator(".on-cart")).to_have_count(0)
    page.reload()
    expect(page.locator(".on-cart")).to_have_count(0)
    expect(page.get_by_role("button", name="Empty the list")).to_be_hidden()


def test_each_badge_has_its_own_list(page: Page, shop: Shop) -> None:
    page.goto("/cart/")
    type_code(page, books.body_tag(shop, HERE))
    expect(page.locator(".on-cart")).to_have_count(1)
    hand_over(page, shop, "P-14", "1414")
    page.goto("/cart/")
    expect(page.locator(".on-cart")).to_have_count(0)


def test_without_the_network_a_tag_is_kept_and_looked_up_later(lonely: Page, shop: Shop) -> None:
    lonely.goto("/cart/")
    lonely.context.set_offline(True)
    for serial in (HERE, ELSEWHERE):
        type_code(lonely, books.body_tag(shop, serial))
    waiting = lonely.locator("[data-cart] [data-waits]")
    expect(waiting).to_have_count(2)
    expect(waiting.first).to_contain_text("Not looked up yet")
    lonely.wait_for_function("() => felt.length === 2")
    assert felt(lonely) == ["warn", "warn"]
    lonely.context.set_offline(False)
    expect(waiting).to_have_count(0)
    assert sorted(rows(lonely)) == [HERE, ELSEWHERE]
    lonely.wait_for_function("() => felt.length === 3")
    assert felt(lonely)[-1] == "warn", "the worse of both"


def test_a_cart_meets_the_guidelines_by_day_and_by_night(page: Page, shop: Shop) -> None:
    """WCAG 2.2 A and AA (W3C, 2023) as axe-core reads them."""
    page.goto("/cart/")
    for code in (books.body_tag(shop, HERE), books.body_tag(shop, ELSEWHERE), MENU):
        type_code(page, code)
    expect(page.locator(".finding-stop.on-cart")).to_be_visible()
    for light in ("light", "dark"):
        page.emulate_media(color_scheme=light)
        assert breaches(page) == []


# --- what is heard ---


def test_a_stop_a_warning_and_a_match_are_each_felt_as_such(page: Page, shop: Shop) -> None:
    page.goto("/scan/")
    page.locator("h1").click()
    after_scan("Q-1055", "Q-1061", "is for Q-1061")(page, shop)
    page.wait_for_function("() => felt.length === 1")
    hand_over(page, shop, "P-16", "1616")
    after_scan("Q-1037", "Q-1037", "Fits")(page, shop)
    page.wait_for_function("() => felt.length === 2")
    assert felt(page) == ["stop", "clear"]


def test_each_kind_has_a_rhythm_and_a_pitch_of_its_own(page: Page, shop: Shop) -> None:
    page.goto("/cart/")
    heard = []
    page.locator("h1").click()
    for code in (books.body_tag(shop, HERE), books.body_tag(shop, ELSEWHERE), MENU):
        before = page.evaluate("heard.length")
        type_code(page, code)
        page.wait_for_function("(before) => heard.length > before", arg=before)
        heard.append(tuple(page.evaluate("heard")[before:]))
    assert len(set(heard)) == 3
    assert len({len(one) for one in heard}) == 3


# --- the camera ---


def test_a_camera_closed_because_the_page_was_out_of_sight_opens_again(
    page: Page, show: Show
) -> None:
    show(None)
    page.goto("/scan/")
    open_camera(page)
    expect(page.locator("[data-said]")).to_contain_text("inside the frame")
    page.evaluate("window.first = document.querySelector('video').srcObject.getTracks()[0]")
    page.evaluate(OUT_OF_SIGHT, True)
    expect(page.locator("[data-view]")).to_be_hidden()
    assert page.evaluate("first.readyState") == "ended"
    page.evaluate(OUT_OF_SIGHT, False)
    expect(page.locator("[data-view]")).to_be_visible()
    expect(page.locator("[data-said]")).to_contain_text("inside the frame")


def test_a_camera_that_was_closed_by_hand_stays_closed(page: Page, show: Show) -> None:
    show(None)
    page.goto("/scan/")
    open_camera(page)
    expect(page.locator("[data-said]")).to_contain_text("inside the frame")
    page.get_by_role("button", name="Close camera").click()
    page.evaluate(OUT_OF_SIGHT, True)
    page.evaluate(OUT_OF_SIGHT, False)
    page.wait_for_timeout(500)
    expect(page.locator("[data-view]")).to_be_hidden()


def test_without_a_picture_two_other_ways_lie_under_the_thumb(page: Page, show: Show) -> None:
    show(None, ground=(0, 0, 0))
    page.goto("/scan/")
    expect(page.get_by_role("button", name="Take a photo")).to_be_hidden()
    open_camera(page)
    photo = page.get_by_role("button", name="Take a photo")
    typed = page.get_by_role("button", name="Type the code")
    expect(photo).to_be_in_viewport()
    expect(typed).to_be_in_viewport()
    with page.expect_file_chooser():
        photo.click()
    expect(page.locator("[data-view]")).to_be_hidden()
    open_camera(page)
    expect(typed).to_be_visible(timeout=10_000)
    typed.click()
    expect(page.get_by_label("Code printed beside the square")).to_be_focused()
    expect(page.locator("[data-view]")).to_be_hidden()


def test_where_the_camera_is_refused_the_other_ways_are_offered_at_once(
    page: Page, shop: Shop
) -> None:
    page.add_init_script(
        "navigator.mediaDevices.getUserMedia = async () => {"
        " throw new DOMException('no', 'NotAllowedError'); };"
    )
    page.goto("/scan/")
    open_camera(page)
    expect(page.get_by_role("button", name="Take a photo")).to_be_visible()
    expect(page.get_by_role("button", name="Type the code")).to_be_visible()


# --- readers of every kind ---


def code_in(page: Page, text: str) -> str:
    found = page.evaluate(
        "async (text) => (await import('/static/phone/code.js')).codeIn(text)", text
    )
    assert isinstance(found, str)
    return found


def test_a_code_that_adds_up_is_found_whatever_its_separators_became(
    page: Page, shop: Shop
) -> None:
    """Characters as keyboards of other countries make them of a reader's hyphen, slash and colon
    (from memory); the codes from the shop's own mint, which is tried against Crockford's.
    """
    page.goto("/scan/")
    host = shop.address.removeprefix("http://").upper()
    for hyphen, slash, colon in ("ß-Ö", "'-Ñ", ")!;", "+&Ç", "?_>"):
        code = mint(Kind.BODY, secrets.randbelow)
        address = f"HTTP{colon}{slash}{slash}{host.replace(':', colon)}{slash}{code}"
        assert code_in(page, address) == code, address
        assert code_in(page, f"{code[:4]}{hyphen}{code[4:]}") == code


def test_a_garbled_code_that_does_not_add_up_is_none(page: Page) -> None:
    """One wrong symbol always shows: modulo 37 (D. Crockford, Base 32)."""
    page.goto("/scan/")
    code = mint(Kind.BODY, lambda below: 5 % below)
    for place in range(7):
        other = next(one for one in SYMBOLS if one not in (code[place], "0", "1"))
        wrong = code[:place] + other + code[place + 1 :]
        assert read(wrong, ()).finding is not None
        assert code_in(page, f"{wrong[:4]}ß{wrong[4:]}") == ""


@pytest.mark.parametrize("text", ["HTTPÖ--192.0.2.7-{}", "MENU {}", "{0}{0}", "", "ß"])
def test_a_garbled_text_of_another_place_is_no_tag_of_this_shop(page: Page, text: str) -> None:
    page.goto("/scan/")
    assert code_in(page, text.format(mint(Kind.BODY, lambda below: 5 % below))) == ""


def test_what_a_reader_typed_into_the_box_is_put_right_before_it_is_sent(
    page: Page, shop: Shop
) -> None:
    code = books.body_tag(shop, HERE)
    page.goto("/scan/")
    type_code(page, f"{code[:4]}ß{code[4:]}")
    page.wait_for_url(f"**/{code}")


def slowly(page: Page, code: str, pause_ms: int) -> None:
    page.locator("h1").click()
    page.keyboard.type(code, delay=pause_ms)
    page.keyboard.press("Enter")


def test_a_slow_hand_scanner_is_understood_once_this_phone_is_told(page: Page, shop: Shop) -> None:
    code = books.body_tag(shop, HERE)
    page.goto("/scan/")
    slowly(page, code, 100)
    page.wait_for_timeout(300)
    assert page.url.endswith("/scan/")
    page.goto("/station/")
    usual = page.get_by_role("button", name="60 ms")
    expect(usual).to_have_attribute("aria-pressed", "true")
    page.get_by_role("button", name="250 ms").click()
    expect(page.get_by_role("button", name="250 ms")).to_have_attribute("aria-pressed", "true")
    expect(usual).to_have_attribute("aria-pressed", "false")
    page.goto("/scan/")
    slowly(page, code, 100)
    page.wait_for_url(f"**/{code}")


# --- the screen stays on ---

SLEEPLESS = """
window.asked = [];
const screens = { request: async (what) => {
  const held = { released: false, release: async () => { held.released = true; } };
  window.asked.push(held);
  return held;
} };
Object.defineProperty(navigator, "wakeLock", { value: screens });
"""


def held(page: Page) -> list[bool]:
    """Of each time the screen was asked to stay on, whether it still does."""
    found: list[bool] = page.evaluate("asked.map((one) => !one.released)")
    return found


@pytest.fixture
def at_work(phone: Page, shop: Shop) -> Page:
    """The page of an instrument whose step is open in P-14's hands."""
    phone.add_init_script(SLEEPLESS)
    begin(shop, "Q-1065", "B10", "P-14", "B")
    hand_over(phone, shop, "P-14", "1414")
    to_body("Q-1065")(phone, shop)
    expect(phone.locator("[data-step-open]")).to_be_visible()
    return phone


def test_the_screen_stays_on_while_a_step_is_open(at_work: Page) -> None:
    at_work.wait_for_function("() => asked.length === 1")
    at_work.locator("h1").first.click()
    assert held(at_work) == [True]


def test_a_screen_that_came_back_is_asked_again(at_work: Page) -> None:
    """Screen Wake Lock (W3C): the lock is lost when the page goes out of sight."""
    at_work.wait_for_function("() => asked.length === 1")
    at_work.evaluate("asked[0].released = true")
    at_work.evaluate(OUT_OF_SIGHT, True)
    at_work.evaluate(OUT_OF_SIGHT, False)
    at_work.wait_for_function("() => asked.length === 2")
    assert held(at_work) == [False, True]


def test_a_locked_phone_may_go_dark(at_work: Page) -> None:
    at_work.wait_for_function("() => asked.length === 1")
    at_work.evaluate("document.getElementById('lock').innerHTML = '<p>Locked</p>'")
    at_work.wait_for_function("() => asked[0].released")
    at_work.evaluate("document.getElementById('lock').innerHTML = ''")
    at_work.locator("h1").first.click()
    at_work.wait_for_function("() => asked.length === 2")


def test_where_no_step_is_open_the_screen_is_left_alone(phone: Page, shop: Shop) -> None:
    phone.add_init_script(SLEEPLESS)
    hand_over(phone, shop, *OPERATOR)
    to_body(HERE)(phone, shop)
    phone.locator("h1").first.click()
    phone.wait_for_timeout(300)
    assert held(phone) == []


def test_a_phone_that_cannot_stay_on_says_nothing_of_it(phone: Page, shop: Shop) -> None:
    phone.add_init_script("Object.defineProperty(navigator, 'wakeLock', { value: undefined })")
    begin(shop, "Q-1065", "B10", "P-14", "B")
    hand_over(phone, shop, "P-14", "1414")
    to_body("Q-1065")(phone, shop)
    phone.locator("h1").first.click()
    expect(phone.locator("body")).not_to_contain_text(
        re.compile("wake|screen stays", re.IGNORECASE)
    )
