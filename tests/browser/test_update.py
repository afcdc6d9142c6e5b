"""A new release comes to phones that are in use, and the worker is taken off them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Error, Page, expect

from tests.browser import books
from tests.browser.conftest import hand_over
from tests.browser.released import Machine, machine
from tests.browser.shop import Furnished
from tests.browser.test_offline import KEPT, as_of, away, ready, type_code

OPERATOR = ("P-11", "1111")
SOON_MS = 30_000
NewContext = Callable[..., BrowserContext]

CACHES = "async () => (await caches.keys()).filter((one) => one.startsWith('static-'))"
WORKERS = "async () => (await navigator.serviceWorker.getRegistrations()).length"
UPDATE = "async () => (await navigator.serviceWorker.getRegistration())?.update()"
TAKEN = """async (before) => {
  const kept = (await caches.keys()).filter((one) => one.startsWith('static-'));
  const worker = await navigator.serviceWorker.getRegistration();
  return kept.length === 2 && kept[0] === before && worker.active && !worker.waiting;
}"""
LOADS = "sessionStorage.loads = 1 + Number(sessionStorage.loads ?? 0)"


@pytest.fixture
def shed(furnished_shop: Furnished, tmp_path: Path) -> Iterator[Machine]:
    with machine(furnished_shop, tmp_path / "data") as one:
        yield one


@pytest.fixture
def page(shed: Machine, new_context: NewContext) -> Page:
    page = new_context(base_url=shed.address, locale="en").new_page()
    page.add_init_script(LOADS)
    hand_over(page, shed.shop, *OPERATOR)
    ready(page)
    return page


def gather(shed: Machine, place: Path) -> None:
    """Another release lies ready; gathering takes longer than a phone stays signed in."""
    shed.release(place, "phone/network.js", "// another release\n")


def renew(shed: Machine) -> None:
    """The release that lies ready, at the same address, with the same data."""
    shed.stop()
    shed.start()


def taken(page: Page, before: str) -> bool:
    """Whether the new release has the phone. The page reloads by itself at a moment of its own:
    where that cuts the answer off, there is none yet."""
    try:
        return bool(page.evaluate(TAKEN, before))
    except Error as cut_off:
        if "context was destroyed" not in str(cut_off):
            raise
        return False


def test_a_new_version_is_offered_and_reloads_once_and_old_pages_still_stand_without_the_network(
    shed: Machine, page: Page, tmp_path: Path
) -> None:
    gather(shed, tmp_path / "release")
    hand_over(page, shed.shop, *OPERATOR)
    (before,) = page.evaluate(CACHES)
    code = books.body_tag(shed.shop, "Q-1043")
    page.goto(f"/{code}/tray/")
    page.get_by_label("Code printed beside the square").fill("T49")
    renew(shed)
    loads = page.evaluate("sessionStorage.loads")
    page.evaluate(UPDATE)
    # Nothing is taken from under a hand: what was typed is still there.
    expect(page.get_by_text("A new version is here.")).to_be_visible(timeout=SOON_MS)
    expect(page.get_by_label("Code printed beside the square")).to_have_value("T49")
    assert page.evaluate("sessionStorage.loads") == loads
    page.get_by_role("button", name="Reload").click()
    expect(page.get_by_text("A new version is here.")).to_be_hidden(timeout=SOON_MS)
    expect(page.get_by_label("Code printed beside the square")).to_have_value("")
    page.wait_for_timeout(1000)  # were it to reload again, it would by now
    assert int(page.evaluate("sessionStorage.loads")) == int(loads) + 1
    kept = page.evaluate(CACHES)
    assert kept[0] == before
    assert len(kept) == 2
    # Carried under the release before, it still has its style and its scripts.
    page.context.set_offline(True)
    page.goto(f"/{books.body_tag(shed.shop, 'Q-1055')}")
    as_of(page, "Q-1055")
    expect(page.locator("[data-who]")).to_have_text(OPERATOR[0])
    size = page.locator(".serial").evaluate("(one) => getComputedStyle(one).fontSize")
    assert size == "56px"


def test_on_a_scan_that_nobody_touched_it_is_taken_by_itself(
    shed: Machine, page: Page, tmp_path: Path
) -> None:
    gather(shed, tmp_path / "release")
    hand_over(page, shed.shop, *OPERATOR)
    (before,) = page.evaluate(CACHES)
    renew(shed)
    page.goto("/scan/")
    page.evaluate(UPDATE)
    for _ in range(SOON_MS // 500):
        if taken(page, before):
            break
        page.wait_for_timeout(500)
    else:
        pytest.fail("The release that lies ready was not taken.")
    expect(page.get_by_text("A new version is here.")).to_be_hidden()


def test_an_act_tapped_before_a_release_is_recorded_after_it(
    shed: Machine, page: Page, tmp_path: Path
) -> None:
    gather(shed, tmp_path / "release")
    hand_over(page, shed.shop, *OPERATOR)
    page.goto("/scan/")
    page.context.set_offline(True)
    type_code(page, books.body_tag(shed.shop, "Q-1055"))
    page.get_by_role("button", name="Record N30").click()
    away(page).to_contain_text("1 waits")
    renew(shed)
    page.context.set_offline(False)
    expect(page.locator("[data-unsent]")).to_be_hidden(timeout=SOON_MS)
    assert books.steps(shed.shop, "Q-1055")[-1] == "N30"


def test_switched_off_the_worker_goes_with_its_pages_and_what_waits_stays(
    shed: Machine, page: Page
) -> None:
    page.evaluate("() => new Promise((done) => { indexedDB.open('heelcap').onsuccess = done; })")
    page.goto("/station/")
    assert page.evaluate(WORKERS) == 1
    assert page.evaluate(KEPT)
    shed.stop()
    shed.start(HEELCAP_WORKER="off")
    page.evaluate(UPDATE)
    for _ in range(SOON_MS // 500):
        if page.evaluate(WORKERS) == 0 and page.evaluate(KEPT) == {}:
            break
        page.wait_for_timeout(500)
    assert page.evaluate(WORKERS) == 0
    assert page.evaluate(KEPT) == {}
    assert page.evaluate(CACHES) == []
    assert "heelcap" in page.evaluate(
        "async () => (await indexedDB.databases()).map((a) => a.name)"
    )
