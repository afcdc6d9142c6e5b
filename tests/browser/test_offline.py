"""A phone that the network does not reach: what it carries along, and what is done on it."""

from __future__ import annotations

import re
import signal
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, Playwright, expect

from tests.browser import books, camera
from tests.browser.conftest import CHROMIUM, Show, hand_over
from tests.browser.released import Machine, machine
from tests.browser.shop import Furnished, Shop

OPERATOR = ("P-11", "1111")
READY_WITHIN_MS = 60_000
# Longer than the worker waits for a shop that does not answer.
AWAY_WITHIN_MS = 15_000

NewContext = Callable[..., BrowserContext]

KEPT = """async () => {
  const found = {};
  for (const name of await caches.keys()) {
    const cache = await caches.open(name);
    for (const request of await cache.keys()) {
      const { pathname } = new URL(request.url);
      if (pathname.startsWith("/static/")) continue;
      found[pathname] = await (await cache.match(request)).text();
    }
  }
  return found;
}"""
WARM = """(addresses) => new Promise(async (done) => {
  const { active } = await navigator.serviceWorker.ready;
  const { port1, port2 } = new MessageChannel();
  port1.onmessage = (event) => done(event.data);
  active.postMessage({ warm: addresses }, [port2]);
})"""
WAITING = """() => new Promise((done) => {
  const asked = indexedDB.open("heelcap");
  asked.onsuccess = () => {
    const all = asked.result.transaction("acts").objectStore("acts").getAll();
    all.onsuccess = () => { asked.result.close(); done(all.result.map((one) => one.says)); };
  };
})"""


@pytest.fixture
def pocket(context_of: NewContext, shop: Shop) -> Page:
    """A phone that P-11 took along, ready for where the network does not reach."""
    page = context_of(has_touch=True, is_mobile=True).new_page()
    hand_over(page, shop, *OPERATOR)
    ready(page)
    return page


@pytest.fixture(scope="module")
def mill(furnished_shop: Furnished, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Machine]:
    with machine(furnished_shop, tmp_path_factory.mktemp("mill")) as one:
        yield one


def ready(page: Page) -> int:
    """Open the scan and wait until it says how many are ready without the network."""
    page.goto("/scan/")
    said = page.locator("[data-network]").get_by_text("Ready without the network:")
    expect(said).to_be_visible(timeout=READY_WITHIN_MS)
    return int(said.inner_text().rsplit(":", 1)[1])


def type_code(page: Page, code: str) -> None:
    page.get_by_label("Code printed beside the square").fill(code)
    page.get_by_role("button", name="Look up").click()


def away(page: Page) -> Any:
    return expect(page.locator("[data-line]"))


def as_of(page: Page, serial: str) -> None:
    """The page in view is the carried one of this instrument."""
    expect(page.locator(f"[data-carried][data-serial='{serial}']")).to_be_visible()


# --- what is carried ---


def test_the_instruments_of_the_station_are_ready_and_nothing_of_a_person_is(
    pocket: Page, shop: Shop
) -> None:
    """No page of somebody, no /who/ and no part of a page lies in any cache of the phone, and no
    badge is named in those that do."""
    listed = pocket.context.request.get("/here/").text().count("data-carry=")
    kept: dict[str, str] = pocket.evaluate(KEPT)
    carried = {one for one in kept if re.fullmatch(r"/[0-9A-Z]{7}/carried/", one)}
    assert len(carried) == listed == ready(pocket) > 4
    assert set(kept) - carried == {"/aside/", "/pitch/", "/waiting/"}
    badges = [code for (code,) in shop.rows("SELECT code FROM people_badge")]
    named = {
        (path, badge)
        for path, text in kept.items()
        for badge in badges
        if re.search(rf"(?<![\w-]){badge}(?!\w)", text)
    }
    assert named == set()
    assert [path for path, text in kept.items() if "csrfmiddlewaretoken" in text] == []


def test_a_page_that_may_not_be_stored_is_not_whoever_asks_for_it(pocket: Page) -> None:
    """RFC 9111, 5.2.2.5 (no-store); the page of somebody, a redirect, and who is there."""
    before = set(pocket.evaluate(KEPT))
    assert pocket.evaluate(WARM, ["/scan/", "/who/", "/here/", "/station/", "/AT/none"]) == 0
    pocket.goto("/station/")
    pocket.goto("/here/")
    assert set(pocket.evaluate(KEPT)) == before


def test_signing_out_keeps_what_is_carried(pocket: Page) -> None:
    before = set(pocket.evaluate(KEPT))
    pocket.get_by_role("button", name="Sign out").click()
    expect(pocket.get_by_role("heading", level=1)).to_be_visible()
    assert set(pocket.evaluate(KEPT)) == before
    assert "heelcap" in pocket.evaluate(
        "async () => (await indexedDB.databases()).map((a) => a.name)"
    )


def test_at_another_station_the_pages_of_the_first_are_dropped(pocket: Page, shop: Shop) -> None:
    own = books.body_tag(shop, "Q-1043")
    assert f"/{own}/carried/" in pocket.evaluate(KEPT)
    pocket.goto("/station/")
    pocket.get_by_role("button", name="Joint").first.click()
    ready(pocket)
    kept = pocket.evaluate(KEPT)
    assert f"/{own}/carried/" not in kept
    assert f"/{books.body_tag(shop, 'Q-1061')}/carried/" in kept


def test_an_instrument_in_hand_is_carried_wherever_it_belongs(pocket: Page, shop: Shop) -> None:
    code = books.body_tag(shop, "Q-1061")
    pocket.goto(f"/{code}")
    expect(pocket.locator("[data-network][data-ready='1']")).to_be_attached(timeout=READY_WITHIN_MS)
    pocket.context.set_offline(True)
    pocket.reload()
    as_of(pocket, "Q-1061")


# --- what is done without the network ---


def test_a_shift_without_the_network_is_recorded_once_when_it_is_back(
    pocket: Page, shop: Shop
) -> None:
    own, other = books.tray_label(shop, "Q-1043"), books.tray_label(shop, "Q-1044")
    pocket.context.set_offline(True)
    type_code(pocket, books.body_tag(shop, "Q-1043"))
    as_of(pocket, "Q-1043")
    away(pocket).to_contain_text(re.compile(r"Without the network since \d\d:\d\d"))
    away(pocket).to_contain_text("This page is from")
    expect(pocket.locator("[data-who]")).to_have_text(OPERATOR[0])
    expect(pocket.get_by_role("button", name="Record N40")).to_be_hidden()
    # A wrong tray: the phone itself says so, and keeps nothing of it.
    type_code(pocket, other)
    expect(pocket.get_by_role("alert").filter(has_text="is not the tray")).to_contain_text("Q-1043")
    expect(pocket.locator("html")).to_have_attribute("data-cued", "stop")
    assert pocket.evaluate(WAITING) == []
    type_code(pocket, own)
    expect(pocket.locator("html")).to_have_attribute("data-cued", "clear")
    for place in pocket.locator("[data-figure]").all():
        place.fill("8.73")
    pocket.get_by_role("button", name="Record these values").click()
    pocket.get_by_role("button", name="Record N40").click()
    pocket.get_by_role("button", name="Record N50").click()
    expect(pocket.get_by_text("All that this phone knows of is kept.")).to_be_visible()
    away(pocket).to_contain_text("4 wait")
    # Looked at again, what is kept is not offered again.
    pocket.reload()
    expect(pocket.get_by_text("All that this phone knows of is kept.")).to_be_visible()
    pocket.context.set_offline(False)
    expect(pocket.get_by_text("The shop is reached again.")).to_be_visible(timeout=AWAY_WITHIN_MS)
    expect(pocket.locator("[data-unsent]")).to_be_hidden(timeout=READY_WITHIN_MS)
    assert books.steps(shop, "Q-1043")[-2:] == ["N40", "N50"]
    told = [(kind, result) for kind, _, result, *_ in books.journal(shop, "Q-1043")]
    assert len(told) == len(books.journal(shop, "Q-1043"))
    pocket.get_by_role("link", name="Open it as it is now").click()
    expect(pocket.get_by_role("heading", name="N60")).to_be_visible()
    expect(pocket.locator("[data-line]")).to_be_empty()


def test_the_camera_leads_to_the_carried_page(pocket: Page, shop: Shop, show: Show) -> None:
    pocket.context.set_offline(True)
    pocket.goto("/scan/")
    expect(pocket.get_by_role("heading", name="Carried on this phone")).to_be_visible()
    show(f"{shop.address}/{books.body_tag(shop, 'Q-1055')}")
    pocket.get_by_role("button", name="Open camera").click()
    as_of(pocket, "Q-1055")


def test_what_is_not_carried_says_so_and_lists_what_is(pocket: Page, shop: Shop) -> None:
    code = books.body_tag(shop, "Q-1061")
    pocket.context.set_offline(True)
    pocket.goto(f"/{code}")
    gone = pocket.get_by_role("alert").filter(has_text="is not carried on this phone")
    expect(gone).to_contain_text(f"{code[:4]}-{code[4:]}")
    pocket.get_by_role("link", name="1055").click()
    as_of(pocket, "Q-1055")


def test_a_defect_and_a_call_are_told_by_taps(pocket: Page, shop: Shop) -> None:
    pocket.context.set_offline(True)
    pocket.goto(f"/{books.body_tag(shop, 'Q-1058')}")
    as_of(pocket, "Q-1058")
    pocket.get_by_text("Report a defect").click()
    pocket.locator("summary", has_text="Finish").click()
    pocket.get_by_label("Chip", exact=True).check()
    pocket.locator("summary", has_text="Front").click()
    pocket.get_by_label("peghead face").check()
    pocket.get_by_label("0.4").check()
    pocket.get_by_role("button", name="Report it").click()
    pocket.get_by_text("Call somebody").click()
    pocket.get_by_role("button", name="Call the lead").click()
    away(pocket).to_contain_text("2 wait")
    before = len(books.journal(shop, "Q-1058"))
    pocket.context.set_offline(False)
    expect(pocket.locator("[data-unsent]")).to_be_hidden(timeout=READY_WITHIN_MS)
    assert len(books.journal(shop, "Q-1058")) == before + 2
    ((found,),) = shop.rows(
        "SELECT COUNT(*) FROM floor_entry WHERE kind = 'defect' AND subject = 'Q-1058'"
    )
    assert found == 1


def test_a_page_of_yesterday_says_so(pocket: Page, shop: Shop) -> None:
    pocket.context.set_offline(True)
    pocket.clock.set_fixed_time(datetime.now(UTC) + timedelta(hours=25))
    pocket.goto(f"/{books.body_tag(shop, 'Q-1055')}")
    away(pocket).to_contain_text("more than 24 h old")


def test_over_plain_http_the_scan_says_what_still_works(context_of: NewContext, shop: Shop) -> None:
    """W3C, Service Workers: there are none outside a secure context; the test takes them away."""
    page = context_of().new_page()
    page.add_init_script("delete Navigator.prototype.serviceWorker")
    hand_over(page, shop, *OPERATOR)
    page.goto("/scan/")
    away(page).to_contain_text("pages open only where the network reaches")


def test_pages_without_the_network_can_be_read_by_everybody(
    pocket: Page, shop: Shop, audit: Callable[[Page], None]
) -> None:
    """WCAG 2.2, as axe reads it."""
    pocket.context.set_offline(True)
    pocket.goto("/scan/")
    expect(pocket.get_by_role("link", name="1055")).to_be_visible()
    audit(pocket)
    pocket.goto(f"/{books.body_tag(shop, 'Q-1055')}")
    as_of(pocket, "Q-1055")
    audit(pocket)
    width = pocket.evaluate("document.documentElement.scrollWidth - innerWidth")
    assert width <= 0


# --- real outages ---


def of_the_mill(mill: Machine, new_context: NewContext) -> Page:
    page = new_context(base_url=mill.address, locale="en").new_page()
    hand_over(page, mill.shop, *OPERATOR)
    ready(page)
    return page


def test_a_server_that_is_gone_is_said_and_the_carried_page_opens(
    mill: Machine, new_context: NewContext
) -> None:
    page = of_the_mill(mill, new_context)
    mill.stop()
    try:
        page.goto(f"/{books.body_tag(mill.shop, 'Q-1055')}")
        as_of(page, "Q-1055")
        away(page).to_contain_text("Without the network since")
        page.get_by_role("button", name="Record N30").click()
        kept = page.locator("#main").get_by_text("Kept on this phone: Record N30.")
        expect(kept).to_be_visible()
    finally:
        mill.start()
    expect(page.locator("[data-unsent]")).to_be_hidden(timeout=READY_WITHIN_MS)
    assert books.steps(mill.shop, "Q-1055")[-1] == "N30"


def test_a_server_that_hangs_is_not_waited_for(mill: Machine, new_context: NewContext) -> None:
    """The network is there and answers nothing: navigator.onLine is true all the time."""
    page = of_the_mill(mill, new_context)
    mill.signal(signal.SIGSTOP)
    try:
        page.goto(f"/{books.body_tag(mill.shop, 'Q-1058')}", timeout=AWAY_WITHIN_MS)
        as_of(page, "Q-1058")
        away(page).to_contain_text("Without the network since", timeout=AWAY_WITHIN_MS)
        assert page.evaluate("navigator.onLine") is True
    finally:
        mill.signal(signal.SIGCONT)
    away(page).not_to_contain_text("Without the network", timeout=READY_WITHIN_MS)


# --- an app of the phone ---


def test_the_browser_itself_finds_nothing_against_installing_it(
    playwright: Playwright, shop: Shop, tmp_path: Path, clip: Path
) -> None:
    """Chromium's own check (Chrome DevTools Protocol, Page domain), in a profile that stays: a
    private window installs nothing."""
    camera.film(clip, None)
    context = playwright.chromium.launch_persistent_context(
        str(tmp_path), executable_path=CHROMIUM, base_url=shop.address, args=["--no-sandbox"]
    )
    page = context.pages[0]
    hand_over(page, shop, *OPERATOR)
    ready(page)
    browser = context.new_cdp_session(page)
    found = browser.send("Page.getInstallabilityErrors")["installabilityErrors"]
    read = browser.send("Page.getAppManifest")
    context.close()
    assert found == []
    assert read["errors"] == []
    assert read["url"] == f"{shop.address}/manifest.webmanifest"
