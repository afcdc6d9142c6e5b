"""What a phone must fetch before its holder can work, counted on the wire."""

from __future__ import annotations

import gzip
import json
from collections.abc import Callable
from urllib.parse import urlsplit

from playwright.sync_api import BrowserContext, CDPSession, Page, expect

from tests.browser import books
from tests.browser.conftest import Show
from tests.browser.shop import ROOT, Shop
from tests.browser.ways import measured

SignIn = Callable[[Page, str, str], None]
OPERATOR = ("P-11", "1111")
# The shop's own bars: a phone at the far end of the hall should not wait.
FIRST_LOAD_B = 120_000
FRAGMENT_B = 12_000
OWN_SCRIPT_B = 25_000


class Wire:
    """Counts what a page fetches, head and body, as the browser's own network log tells it.

    Gzip only: a browser asks for anything better on secure addresses alone.
    """

    def __init__(self, page: Page) -> None:
        self._paths: dict[str, str] = {}
        self.bytes: dict[str, int] = {}
        self._log: CDPSession = page.context.new_cdp_session(page)
        self._log.on("Network.requestWillBeSent", self._begun)
        self._log.on("Network.loadingFinished", self._ended)
        self._log.send("Network.enable")
        self._log.send("Network.setExtraHTTPHeaders", {"headers": {"Accept-Encoding": "gzip"}})
        self._log.send("Network.setCacheDisabled", {"cacheDisabled": True})

    def _begun(self, told: dict[str, object]) -> None:
        request = told["request"]
        assert isinstance(request, dict)
        self._paths[str(told["requestId"])] = urlsplit(request["url"]).path

    def _ended(self, told: dict[str, object]) -> None:
        path = self._paths[str(told["requestId"])]
        length = told["encodedDataLength"]
        assert isinstance(length, int | float)
        self.bytes[path] = self.bytes.get(path, 0) + int(length)

    def wait_for(self, page: Page, ending: str) -> None:
        """Until a file with this ending has come whole; at most 5 s."""
        for _ in range(100):
            if any(path.endswith(ending) for path in self.bytes):
                return
            page.wait_for_timeout(50)
        raise AssertionError(f"no {ending} came within 5 s:\n{self.told()}")

    def told(self) -> str:
        rows = sorted(self.bytes.items(), key=lambda row: -row[1])
        return "\n".join(f"{count:7} {path}" for path, count in rows)


def test_the_scan_screen_and_its_camera_come_in_under_120_kb(
    phone: Page, shop: Shop, sign_in: SignIn, show: Show
) -> None:
    """The reader's wasm aside, which is fetched once. The phone's page would also have told
    of anything that the content security policy refuses on the way.
    """
    show(None)
    sign_in(phone, *OPERATOR)
    wire = Wire(phone)
    phone.goto("/scan/", wait_until="networkidle")
    phone.get_by_role("button", name="Open camera").click()
    expect(phone.locator("[data-said]")).to_contain_text("inside the frame")
    wire.wait_for(phone, ".wasm")
    aside = sum(count for path, count in wire.bytes.items() if not path.endswith(".wasm"))
    assert 10_000 < aside < FIRST_LOAD_B, wire.told()


def test_the_answer_to_a_record_comes_in_under_12_kb(
    phone: Page, shop: Shop, sign_in: SignIn
) -> None:
    body = books.body_tag(shop, "Q-1043")
    sign_in(phone, "P-14", "1414")
    measured(phone, shop, "Q-1043", "10.5", "20")
    phone.goto(f"/{body}", wait_until="networkidle")
    wire = Wire(phone)
    phone.get_by_role("button", name="Record B30").click()
    expect(phone.get_by_role("status").filter(has_text="Recorded.")).to_be_visible()
    wire.wait_for(phone, "/record/")
    assert wire.bytes[f"/{body}/record/"] < FRAGMENT_B, wire.told()


def test_the_shop_s_own_scripts_are_under_25_kb_together(shop: Shop) -> None:
    """As phones get them: every module there is, without its comments, each compressed by
    itself."""
    gathered = shop.data / "static"
    names = json.loads((gathered / "staticfiles.json").read_text())["paths"]
    own = [str(path.relative_to(ROOT / "static")) for path in ROOT.glob("static/*/*.js")]
    sizes = {
        path: len(gzip.compress((gathered / names[path]).read_bytes()))
        for path in own
        if not path.startswith("vendor/")
    }
    assert len(sizes) > 20, "not all were gathered"
    assert sum(sizes.values()) < OWN_SCRIPT_B, sizes


def test_a_script_written_into_the_page_is_refused(
    shop: Shop, context_of: Callable[..., BrowserContext]
) -> None:
    """W3C, Content Security Policy Level 3: script-src without 'unsafe-inline'."""
    page = context_of().new_page()
    heard: list[str] = []
    page.on("console", lambda message: heard.append(message.text))
    page.goto("/sign-in/")
    page.evaluate(
        """() => {
            const script = document.createElement("script");
            script.textContent = "window.ran = true";
            document.head.append(script);
        }"""
    )
    assert page.evaluate("window.ran") is None
    assert any(text.startswith("CSP refused script-src") for text in heard), heard
