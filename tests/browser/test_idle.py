"""A phone that is laid down locks, and the page under the PIN pad stays as it was."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser import books
from tests.browser.shop import Furnished, Shop, opened
from tests.browser.ways import hand_scanner, measured

SignIn = Callable[[Page, str, str], None]
OPERATOR = ("P-11", "1111")
# The pad comes 5 s before the server forgets the badge, looked for once a second.
IDLE_S = 8
PAD_WITHIN_MS = 15_000


@pytest.fixture(scope="module")
def shop(furnished_shop: Furnished, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """The demo workshop with a short idle time."""
    place = tmp_path_factory.mktemp("restless")
    with opened(furnished_shop, place, HEELCAP_IDLE_SECONDS=str(IDLE_S)) as one:
        yield one


@pytest.fixture
def locked(phone: Page, shop: Shop, sign_in: SignIn) -> Page:
    """A tray page with a code half typed, left alone until the pad lies over it."""
    sign_in(phone, *OPERATOR)
    phone.goto(f"/{books.body_tag(shop, 'Q-1043')}/tray/")
    phone.get_by_label("Code printed beside the square").fill(books.tray_label(shop, "Q-1043")[:4])
    expect(pad(phone)).to_contain_text("Locked: badge P-11", timeout=PAD_WITHIN_MS)
    return phone


def pad(page: Page) -> Locator:
    return page.locator("#lock")


def enter(page: Page, pin: str) -> None:
    for digit in pin:
        pad(page).locator(f"[data-key='{digit}']").click()
    pad(page).get_by_role("button", name="Enter the PIN").click()


def test_the_pin_brings_the_page_back_with_what_was_typed_and_the_step_is_recorded(
    locked: Page, shop: Shop
) -> None:
    code = books.tray_label(shop, "Q-1043")
    enter(locked, OPERATOR[1])
    expect(pad(locked)).to_be_empty()
    box = locked.get_by_label("Code printed beside the square")
    expect(box).to_have_value(code[:4])
    expect(box).to_be_focused()
    box.press("End")
    box.press_sequentially(code[4:])
    locked.get_by_role("button", name="Look up").click()
    expect(locked.locator(".finding-clear")).to_contain_text("Fits")
    measured(locked, shop, "Q-1043", *["8.73"] * 6)
    locked.get_by_role("button", name="Record N40").click()
    # The measures have had the same answer: only what comes next tells them apart.
    expect(locked.get_by_role("heading", name="N50")).to_be_visible()
    assert books.steps(shop, "Q-1043")[-1] == "N40"


def test_a_wrong_pin_leaves_the_pad_closed_over_the_page(locked: Page) -> None:
    enter(locked, "9999")
    expect(pad(locked).get_by_role("alert")).to_be_visible()
    expect(pad(locked)).to_contain_text("Locked: badge P-11")


def test_what_lies_under_the_pad_cannot_be_reached(locked: Page) -> None:
    """Common practice, no source: what a dialog covers takes neither focus nor a tap."""
    for _ in range(30):
        locked.keyboard.press("Tab")
        expect(locked.locator("main :focus, header :focus")).to_have_count(0)


def test_a_hand_scanner_reaches_nothing_under_the_pad(locked: Page, shop: Shop) -> None:
    sent: list[str] = []
    locked.on("request", lambda request: sent.append(request.method))
    pad(locked).evaluate("one => { one.tabIndex = -1; one.focus(); }")
    hand_scanner(locked, books.tray_label(shop, "Q-1043"))
    locked.wait_for_timeout(300)
    assert "POST" not in sent
    box = locked.get_by_label("Code printed beside the square")
    expect(box).to_have_value(books.tray_label(shop, "Q-1043")[:4])


def test_a_locked_phone_shows_its_page_to_nobody(locked: Page) -> None:
    locked.reload()
    expect(locked.get_by_role("heading", name="Badge P-11")).to_be_visible()
    expect(locked.get_by_label("Instrument")).to_have_count(0)
