"""Lists that stay fresh by themselves, and leave whoever reads them alone.

What is asked here is common practice, no source, unless a test names one.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Locator, Page, Request, Route, ViewportSize, expect

from tests.browser import books
from tests.browser.conftest import hand_over
from tests.browser.shop import Shop
from tests.browser.ways import measured

NewContext = Callable[..., BrowserContext]
POLL_MS = 12_500  # ten seconds and what keeps phones apart, at most
LOW: ViewportSize = {"width": 390, "height": 320}  # so that a short list scrolls
SLOWEST_MS = 75_000
IDLE_MS = 180_000
LOCKED_WITHIN_MS = 20_000
OLD = re.compile(r"^Not fresh since \d\d:\d\d\.$")

# A page cannot be hidden by a test: what it asks of itself is answered by this.
HIDING = """
let away = false;
Object.defineProperty(document, "hidden", { get: () => away });
window.turn = (to) => { away = to; document.dispatchEvent(new Event("visibilitychange")); };
"""


# The server lets the session fall idle; the page does not hear of it.
FORGET = """() => fetch("/sign-in/pad/", { method: "POST", headers: {
  "HX-Request": "true",
  "X-CSRFToken": document.querySelector("[name=csrfmiddlewaretoken]").value,
} })"""


class Polls:
    """What a page asks by itself, and whether it is answered."""

    def __init__(self, page: Page, address: str) -> None:
        self.count = 0
        self.down = False
        page.route(f"**{address}", self._asked)

    def _asked(self, route: Route) -> None:
        if not own(route.request):
            route.fallback()
            return
        self.count += 1
        if self.down:
            route.abort("connectionreset")
        else:
            route.continue_()


def own(request: Request) -> bool:
    """Whether the page asks for what it shows, as it has it already."""
    return {"x-fresh", "if-none-match"} <= request.headers.keys()


def opened(page: Page, shop: Shop, badge: str, address: str) -> Polls:
    """A page whose clock a test moves."""
    page.add_init_script(HIDING)
    page.clock.install()
    hand_over(page, shop, badge, badge.removeprefix("P-") * 2)
    polls = Polls(page, address)
    page.goto(address)
    return polls


def polled(page: Page, polls: Polls) -> None:
    """The next time the page asks has come, and its answer."""
    before = polls.count
    with page.expect_response(lambda answer: own(answer.request)):
        page.clock.fast_forward(POLL_MS)
    assert polls.count == before + 1


def said(page: Page) -> Locator:
    return page.locator("[data-fresh-said]")


def row(page: Page, serial: str) -> Locator:
    return page.locator(f"#main [data-key='{serial}']")


@pytest.fixture
def other(context_of: NewContext, watch: Callable[[Page], Page]) -> Page:
    """A second phone."""
    return watch(context_of(has_touch=True, is_mobile=True).new_page())


def begin(other: Page, shop: Shop, serial: str, operation: str, badge: str) -> None:
    """Somebody at another phone begins a step."""
    hand_over(other, shop, badge, badge.removeprefix("P-") * 2)
    other.goto(f"/{books.body_tag(shop, serial)}")
    other.get_by_role("button", name=f"Start {operation}").click()
    expect(other.get_by_role("status").filter(has_text=f"{operation} is begun.")).to_be_visible()


def send_to_repair(other: Page, shop: Shop, serial: str) -> None:
    """Who sets up at another phone finds a bridge that lifts."""
    hand_over(other, shop, "P-22", "2222")
    found = "family=joint&word=lift&zone=5&loop=bridge+lift"
    other.goto(f"/{books.body_tag(shop, serial)}/defect/?{found}")
    with other.expect_navigation():
        other.get_by_role("button", name="Send it to Repair").click()


def settled(page: Page) -> dict[str, object]:
    """Where the reader is: what has the focus, how far down, what is marked."""
    found: dict[str, object] = page.evaluate(
        """() => ({
            focus: document.activeElement.outerHTML,
            down: scrollY,
            marked: getSelection().toString(),
        })"""
    )
    return found


def mark_words(row: Locator, inside: str) -> None:
    row.locator(inside).first.evaluate(
        "(one) => getSelection().selectAllChildren(one)",
    )


# --- what changes, and what does not ---


def test_a_step_recorded_at_another_phone_shows_and_the_reader_stays_where_he_is(
    phone: Page, other: Page, shop: Shop
) -> None:
    polls = opened(phone, shop, "P-14", "/here/")
    hand_over(other, shop, "P-14", "1414")
    measured(other, shop, "Q-1043", "10.5", "20")
    other.goto(f"/{books.body_tag(shop, 'Q-1043')}")
    polled(phone, polls)

    link = row(phone, "Q-1062").get_by_role("link")
    link.focus()
    mark_words(row(phone, "Q-1062"), ".about")
    before = settled(phone)
    assert before["down"], "the list is long enough to scroll"
    assert before["marked"]

    other.get_by_role("button", name="Record B30").click()
    expect(other.get_by_role("status").filter(has_text="Recorded.")).to_be_visible()
    polled(phone, polls)
    expect(row(phone, "Q-1043")).to_have_count(0)
    expect(said(phone)).to_have_text("Gone on: Q-1043.")
    expect(link).to_be_focused()
    after = settled(phone)
    assert (after["focus"], after["marked"]) == (before["focus"], before["marked"])


def test_a_row_that_changes_while_it_has_the_focus_keeps_it_and_its_place(
    phone: Page, other: Page, shop: Shop
) -> None:
    """Begun, it goes to the head of the list: the focus goes along, the page does not move."""
    polls = opened(phone, shop, "P-16", "/here/")
    phone.set_viewport_size(LOW)
    link = row(phone, "Q-1050").get_by_role("link")
    link.focus()
    phone.evaluate("scrollTo(0, 40)")
    begin(other, shop, "Q-1050", "J20", "P-16")
    polled(phone, polls)
    expect(row(phone, "Q-1050")).to_contain_text("P-16 has J20 open since")
    expect(link).to_be_focused()
    assert phone.evaluate("scrollY") == 40
    expect(said(phone)).to_have_text("")


def test_an_instrument_that_comes_is_told_by_its_serial(
    phone: Page, other: Page, shop: Shop
) -> None:
    polls = opened(phone, shop, "P-61", "/here/")
    expect(phone.locator("main")).to_contain_text("Nothing waits here.")
    send_to_repair(other, shop, "Q-1040")
    polled(phone, polls)
    expect(row(phone, "Q-1040")).to_contain_text("At Repair since")
    expect(said(phone)).to_have_text("Here now: Q-1040.")


def test_what_is_unfolded_on_the_floor_stays_so_while_rows_change(
    desk: Page, other: Page, shop: Shop
) -> None:
    send_to_repair(other, shop, "Q-1049")  # whatever the time of the day, this one waits
    polls = opened(desk, shop, "P-01", "/floor/")
    waits = row(desk, "Q-1049").locator("details")
    waits.locator("summary").click()
    expect(waits).to_have_attribute("open", "")
    place = "one => Math.round(one.getBoundingClientRect().top)"
    at = waits.evaluate(place)
    send_to_repair(other, shop, "Q-1044")
    polled(desk, polls)
    expect(row(desk, "Q-1044")).to_contain_text("At Repair since")
    expect(waits).to_have_attribute("open", "")
    expect(waits.locator("summary")).to_be_focused()
    assert waits.evaluate(place) == at  # on the glass, though a row above it grew


# --- when it asks, and when not ---


def test_nothing_is_changed_while_words_are_typed_and_the_page_says_how_old_it_is(
    desk: Page, shop: Shop
) -> None:
    polls = opened(desk, shop, "P-01", "/floor/")
    box = desk.get_by_label("Only rows with these words")
    box.fill("tarn")
    for _ in range(6):
        desk.clock.fast_forward(POLL_MS)
    assert polls.count == 0
    expect(said(desk)).to_have_text(OLD)
    box.blur()
    polled(desk, polls)
    expect(said(desk)).to_have_text("")
    expect(box).to_have_value("tarn")


def test_a_page_that_is_hidden_asks_for_nothing_and_at_once_when_it_is_shown(
    phone: Page, shop: Shop
) -> None:
    polls = opened(phone, shop, "P-14", "/here/")
    phone.evaluate("turn(true)")
    phone.clock.fast_forward(SLOWEST_MS)
    assert polls.count == 0
    with phone.expect_response(lambda answer: own(answer.request)):
        phone.evaluate("turn(false)")
    assert polls.count == 1
    polled(phone, polls)


def test_a_shop_that_does_not_answer_is_asked_less_often_and_the_page_says_since_when(
    context_of: NewContext, shop: Shop
) -> None:
    phone = context_of().new_page()  # nobody watches its console: it tells of each failure
    polls = opened(phone, shop, "P-14", "/here/")
    polls.down = True
    for _ in range(60):
        phone.clock.fast_forward(10_000)
        phone.keyboard.press("Shift")  # somebody is there: it is not locked
        phone.wait_for_timeout(100)  # for what was asked to fail
    asked = polls.count
    assert 8 <= asked <= 16, "of the sixty times in ten minutes, once a minute at last"
    expect(said(phone)).to_have_text(OLD)
    polls.down = False
    with phone.expect_response(lambda answer: own(answer.request)):
        phone.clock.fast_forward(SLOWEST_MS)
    expect(said(phone)).to_have_text("")
    polled(phone, polls)


def test_no_phone_is_kept_awake_by_what_it_asks_itself(phone: Page, shop: Shop) -> None:
    polls = opened(phone, shop, "P-16", "/here/")
    for _ in range(8):
        polled(phone, polls)
    phone.clock.fast_forward(IDLE_MS - 8 * POLL_MS)
    expect(phone.locator("#lock")).to_contain_text("Locked: badge P-16", timeout=LOCKED_WITHIN_MS)
    asked = polls.count
    for _ in range(6):
        phone.clock.fast_forward(POLL_MS)
    assert polls.count == asked, "nothing changes behind the lock"


def test_where_the_shop_knows_nobody_any_more_the_pad_comes_over_the_page(
    phone: Page, shop: Shop
) -> None:
    polls = opened(phone, shop, "P-14", "/here/")
    phone.evaluate(FORGET)
    phone.clock.fast_forward(POLL_MS)
    expect(phone.locator("#lock")).to_contain_text("Locked: badge P-14", timeout=LOCKED_WITHIN_MS)
    assert polls.count >= 1
