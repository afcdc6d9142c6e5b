"""Entering readings with big keys, with a gauge that types, and without script."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Locator, Page, expect

from tests.browser import books, ways
from tests.browser.shop import Shop
from tests.browser.test_screens import language

SignIn = Callable[[Page, str, str], None]
OPERATOR = ("P-11", "1111")
ASK = "from tests.floor.gauged import measures; measures('N40', {})"
RECORD = "Record these values"
KEY_PX = 56


def asks(shop: Shop, *quantities: str) -> None:
    """N40 asks for these quantities from now on, and nothing is measured yet."""
    shop.manage("shell", "-c", ASK.format(", ".join(repr(one) for one in quantities)))


def kept(shop: Shop, serial: str = "Q-1043") -> list[tuple[str, str, str]]:
    rows = shop.rows(
        "SELECT r.quantity, r.place, r.value FROM floor_reading r"
        " JOIN floor_instrument i ON i.id = r.instrument_id"
        " JOIN floor_body b ON b.id = i.body_id WHERE b.serial = %s ORDER BY r.id",
        serial,
    )
    return [(quantity, place, f"{float(value):.4f}") for quantity, place, value in rows]


def tray_scanned(page: Page, shop: Shop, serial: str = "Q-1043") -> None:
    code = books.body_tag(shop, serial)
    ways.ask(page, shop, f"/{code}/tray/", code=books.tray_label(shop, serial))


@pytest.fixture
def gauge(phone: Page, shop: Shop, sign_in: SignIn) -> Page:
    """The holes of Q-1043, none measured yet, its tray scanned."""
    asks(shop, "hole")
    sign_in(phone, *OPERATOR)
    phone.goto("/scan/")
    tray_scanned(phone, shop)
    phone.goto(f"/{books.body_tag(shop, 'Q-1043')}/gauge/")
    return phone


def field(page: Page, string: str) -> Locator:
    return page.get_by_label(f"String {string}")


def tap(page: Page, figures: str) -> None:
    for figure in figures:
        page.locator(f"[data-key='{figure}']").tap()


def send_like_a_gauge(page: Page, text: str) -> None:
    """Keys as fast as a gauge sends them, then Enter."""
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def record(page: Page) -> Locator:
    return page.get_by_role("button", name=RECORD)


# --- the big keys ---


@pytest.mark.parametrize("code", ["", "es"])
@pytest.mark.parametrize("width", [390, 320])
def test_a_word_stays_inside_its_key(gauge: Page, code: str, width: int) -> None:
    language(gauge, code)
    gauge.reload()
    gauge.set_viewport_size({"width": width, "height": 844})
    expect(gauge.locator("[data-figures]")).to_be_visible()
    over = gauge.locator("[data-figures] button").evaluate_all(
        "keys => keys.filter((one) => one.scrollWidth > one.clientWidth)"
        ".map((one) => one.innerText)"
    )
    language(gauge, "")
    assert over == []


def test_the_first_field_is_in_hand_and_the_keys_fill_it(gauge: Page) -> None:
    expect(field(gauge, "6")).to_be_focused()
    tap(gauge, "8.73")
    expect(field(gauge, "6")).to_have_value("8.73")
    expect(field(gauge, "6")).to_be_focused()


def test_the_keys_are_large_enough_and_leave_the_field_in_sight(gauge: Page) -> None:
    """56 px: the shop's own measure for what is hit most often with gloves on."""
    panel = gauge.locator("[data-figures]").bounding_box()
    for key in gauge.locator("[data-key]").all():
        box = key.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= KEY_PX
    field(gauge, "1").focus()
    shown = field(gauge, "1").bounding_box()
    assert panel is not None
    assert shown is not None
    assert shown["y"] + shown["height"] <= panel["y"]


def test_a_slip_is_taken_back_and_next_moves_on(gauge: Page) -> None:
    tap(gauge, "87")
    gauge.locator("[data-key=back]").tap()
    tap(gauge, ".73")
    gauge.locator("[data-key=next]").tap()
    expect(field(gauge, "5")).to_be_focused()
    expect(field(gauge, "6")).to_have_value("8.73")


def test_a_field_tapped_again_is_written_afresh(gauge: Page) -> None:
    tap(gauge, "9.99")
    field(gauge, "4").tap()
    field(gauge, "6").tap()
    tap(gauge, "8")
    expect(field(gauge, "6")).to_have_value("8")


def test_what_was_keyed_in_is_recorded(gauge: Page, shop: Shop) -> None:
    for string in "654321":
        expect(field(gauge, string)).to_be_focused()
        tap(gauge, "8.73")
        gauge.locator("[data-key=next]").tap()
    expect(record(gauge)).to_be_focused()
    expect(gauge.locator("[data-figures]")).to_be_hidden()
    record(gauge).tap()
    expect(gauge.get_by_role("status").filter(has_text="Recorded.")).to_be_visible()
    expect(gauge.get_by_role("button", name="Record N40")).to_be_visible()
    assert kept(shop) == [("hole", string, "8.7300") for string in "654321"]


# --- a gauge that types ---


def test_a_gauge_fills_field_after_field_and_sends_nothing(gauge: Page, shop: Shop) -> None:
    for text in ("8,73", "8.74", "8,72 mm", "8.73mm", "8,73"):
        send_like_a_gauge(gauge, text)
    expect(field(gauge, "1")).to_be_focused()
    expect(field(gauge, "4")).to_have_value("8,72 mm")
    send_like_a_gauge(gauge, "8.75")
    expect(record(gauge)).to_be_focused()
    assert kept(shop) == []
    with gauge.expect_navigation():
        gauge.keyboard.press("Enter")  # the button's own Enter, pressed on purpose
    assert [value for _, _, value in kept(shop)] == [
        "8.7300", "8.7400", "8.7200", "8.7300", "8.7300", "8.7500",
    ]  # fmt: skip


def test_a_reading_sent_while_no_field_has_the_focus_goes_into_the_one_in_hand(
    gauge: Page,
) -> None:
    gauge.evaluate("document.activeElement.blur()")
    send_like_a_gauge(gauge, "8,73")
    expect(field(gauge, "6")).to_have_value("8,73")
    expect(field(gauge, "5")).to_be_focused()


def test_a_reading_too_many_presses_no_button(gauge: Page, shop: Shop) -> None:
    for _ in range(7):
        send_like_a_gauge(gauge, "8.73")
    expect(record(gauge)).to_be_focused()
    expect(gauge.get_by_role("status")).to_have_text(
        "Every place has its value. Tap the one to change, then measure."
    )
    assert kept(shop) == []


def test_enter_passes_the_places_that_have_their_value(gauge: Page, shop: Shop) -> None:
    for _ in range(3):
        send_like_a_gauge(gauge, "8.73")
    gauge.locator("[data-key=done]").tap()
    record(gauge).tap()
    gauge.get_by_role("link", name="Measure", exact=True).tap()
    expect(field(gauge, "3")).to_be_focused()
    expect(gauge.locator("#hole-6-earlier")).to_contain_text("now 8.73")


# --- what is refused ---


def test_a_doubtful_value_comes_back_in_hand_with_all_the_others(gauge: Page, shop: Shop) -> None:
    for text in ("8.73", "8.73", "8.73", "9.15", "8.73", "8.73"):
        send_like_a_gauge(gauge, text)
    record(gauge).tap()
    expect(field(gauge, "3")).to_be_focused()
    expect(field(gauge, "3")).to_have_value("9.15")
    expect(field(gauge, "1")).to_have_value("8.73")
    assert kept(shop) == []
    gauge.locator("[data-key=done]").tap()
    gauge.get_by_label("I measured again: it is so").check()
    record(gauge).tap()
    expect(gauge.get_by_role("heading", name="Stop")).to_be_visible()
    assert ("hole", "3", "9.1500") in kept(shop)
    why = gauge.get_by_text("Why", exact=False).first
    expect(gauge.get_by_text("Hole gauged at string 3")).to_be_hidden()
    why.tap()
    expect(gauge.get_by_text("Hole gauged at string 3")).to_be_visible()


def test_paper_shows_what_a_finding_rests_on_unfolded(gauge: Page) -> None:
    send_like_a_gauge(gauge, "8.95")
    gauge.locator("[data-key=done]").tap()
    record(gauge).tap()
    expect(gauge.get_by_role("heading", name="Stop")).to_be_visible()
    side = gauge.get_by_text("Hole gauged at string 6")
    height = "one => one.closest('table').getBoundingClientRect().height"
    assert side.evaluate(height) == 0
    gauge.emulate_media(media="print")
    assert side.evaluate(height) > 0


# --- answers ---


def test_an_answer_is_tapped(gauge: Page, shop: Shop) -> None:
    asks(shop, "worm")
    tray_scanned(gauge, shop)
    gauge.reload()
    for one in gauge.get_by_text("Worm nearest the nut").all():
        one.tap()
    record(gauge).tap()
    expect(gauge.get_by_role("button", name="Record N40")).to_be_visible()
    assert kept(shop) == [("worm", "L", "1.0000"), ("worm", "R", "1.0000")]


# --- without script ---


@pytest.fixture
def plain(context_of: Callable[..., BrowserContext], shop: Shop, sign_in: SignIn) -> Page:
    asks(shop, "hole")
    page = context_of(java_script_enabled=False).new_page()
    sign_in(page, *OPERATOR)
    page.goto("/scan/")
    tray_scanned(page, shop)
    page.goto(f"/{books.body_tag(shop, 'Q-1043')}/gauge/")
    return page


def test_without_script_the_fields_are_typed_into_and_sent(plain: Page, shop: Shop) -> None:
    expect(plain.locator("[data-figures]")).to_be_hidden()
    for string in "654321":
        field(plain, string).fill("8,73")
    record(plain).click()
    expect(plain.get_by_role("button", name="Record N40")).to_be_visible()
    assert len(kept(shop)) == 6


def test_without_script_a_gauges_enter_sends_nothing(plain: Page, shop: Shop) -> None:
    """HTML Living Standard, implicit submission: a disabled default button sends nothing."""
    field(plain, "6").fill("8.73")
    asked: list[str] = []
    plain.on("request", lambda one: asked.append(one.url))
    field(plain, "6").press("Enter")
    plain.wait_for_timeout(300)
    assert asked == []
    expect(field(plain, "6")).to_have_value("8.73")
    assert kept(shop) == []
