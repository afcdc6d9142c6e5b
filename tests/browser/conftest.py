"""A real server, a real Chromium with a camera of our own, and an eye on its console."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import BrowserContext, ConsoleMessage, Page, expect

from tests.browser import camera
from tests.browser.shop import Furnished, Shop, furnished, opened

CHROMIUM = "/usr/bin/chromium"
# The Web Content Accessibility Guidelines 2.2, levels A and AA, as axe-core tags them.
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
# A page that answers no is one of our answers; a static file that does so is a fault.
OUR_ANSWER = re.compile(r"Failed to load resource: .* status of (?:401|403|404|409|410|422)\b")
AXE = Axe()
# What passes is not written out, node for node: that would take as long as the look itself.
LOOK = """async ([type, values, but]) => (await axe.run(document, {
  runOnly: { type, values }, resultTypes: ["violations"],
  rules: Object.fromEntries(but.map((rule) => [rule, { enabled: false }])),
})).violations"""

REPORT_REFUSALS = """
document.addEventListener("securitypolicyviolation", (event) => {
  console.error(`CSP refused ${event.violatedDirective}: ${event.blockedURI}`);
});
"""

Show = Callable[..., None]

# Two passes and two browsers may share two processors: what is waited for is worth a while.
expect.set_options(timeout=20_000)


@pytest.fixture(scope="session")
def clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("camera") / "camera.mjpeg"
    camera.film(path, None)
    return path


@pytest.fixture(scope="session")
def browser_type_launch_args(
    browser_type_launch_args: dict[str, Any], clip: Path
) -> dict[str, Any]:
    flags = [
        *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
        *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
        *("--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream"),
        f"--use-file-for-fake-video-capture={clip}",
    ]
    return {**browser_type_launch_args, "executable_path": CHROMIUM, "args": flags}


@pytest.fixture
def show(clip: Path) -> Show:
    """Put a tag before the camera: ``show(text)``, or ``show(None)`` for bare wood."""

    def put(text: str | None, **how: Any) -> None:
        camera.film(clip, text, **how)

    return put


@pytest.fixture(scope="session")
def furnished_shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Furnished]:
    with furnished(tmp_path_factory.mktemp("furnished")) as one:
        yield one


@pytest.fixture(scope="module")
def shop(furnished_shop: Furnished, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """The demo workshop, open, fresh for each test module."""
    with opened(furnished_shop, tmp_path_factory.mktemp("shop")) as one:
        yield one


@pytest.fixture
def context_of(
    shop: Shop, new_context: Callable[..., BrowserContext]
) -> Callable[..., BrowserContext]:
    """A browser of one's own at the shop's address; ``size`` in CSS pixels."""

    def make(size: tuple[int, int] = (390, 844), **options: Any) -> BrowserContext:
        width, height = size
        context = new_context(
            base_url=shop.address,
            viewport={"width": width, "height": height},
            device_scale_factor=2,
            locale="en",
            **options,
        )
        context.add_init_script(REPORT_REFUSALS)
        return context

    return make


@pytest.fixture
def phone(context_of: Callable[..., BrowserContext], watch: Callable[[Page], Page]) -> Page:
    """A phone's page, 390 by 844, that fails its test on a console error or a CSP report."""
    return watch(context_of(has_touch=True, is_mobile=True).new_page())


@pytest.fixture
def desk(context_of: Callable[..., BrowserContext], watch: Callable[[Page], Page]) -> Page:
    """A desk's page, 1280 by 800, watched like the phone's."""
    return watch(context_of((1280, 800)).new_page())


@pytest.fixture
def watch() -> Iterator[Callable[[Page], Page]]:
    """Watch a page; its test fails at the end if the page's console told of an error."""
    errors: list[str] = []

    def on(page: Page) -> Page:
        listen(page, errors)
        return page

    yield on
    assert errors == []


def listen(page: Page, errors: list[str]) -> None:
    """Gather what a page's console tells of errors and refusals from now on."""

    def on_message(message: ConsoleMessage) -> None:
        address = message.location.get("url", "")
        ours = OUR_ANSWER.search(message.text) and "/static/" not in address
        if message.type == "error" and not ours:
            errors.append(f"{message.text} ({address})")

    page.on("console", on_message)
    page.on("pageerror", lambda error: errors.append(str(error)))


def hand_over(page: Page, shop: Shop, badge: str, pin: str) -> None:
    """Give a page's browser the session of a badge, past the screens that other tests try."""
    request = page.context.request
    request.get("/sign-in/")
    token = next(
        cookie["value"] for cookie in page.context.cookies() if cookie["name"] == "csrftoken"
    )
    answer = request.post(
        "/sign-in/",
        form={"badge": badge, "pin": pin, "csrfmiddlewaretoken": token},
        headers={"Referer": f"{shop.address}/sign-in/"},
        max_redirects=0,
    )
    assert answer.status == 302, f"{answer.status} at sign-in of {badge}:\n{answer.text()}"


@pytest.fixture
def sign_in(shop: Shop) -> Callable[[Page, str, str], None]:
    """Give a page's browser the session of a badge: ``sign_in(page, "P-14", "1414")``."""

    def go(page: Page, badge: str, pin: str) -> None:
        hand_over(page, shop, badge, pin)

    return go


def breaches(page: Page, *only: str, but: Sequence[str] = ()) -> list[str]:
    """What axe finds against WCAG 2.2 A and AA on the page as it is now, by ``only`` some rules
    or by all ``but`` some.

    axe-core is an independent reader of the guidelines (W3C, 2023).
    """
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(AXE.axe_script)
    return [
        f"{one['id']}: {one['help']}\n    {node['html']}\n    {node['failureSummary']}"
        for one in page.evaluate(LOOK, ["rule", only, but] if only else ["tag", WCAG, but])
        for node in one["nodes"]
    ]


@pytest.fixture
def audit() -> Callable[[Page], None]:
    """Assert that axe finds nothing against the guidelines on the page as it is now."""

    def run(page: Page) -> None:
        told = breaches(page)
        assert told == [], f"{page.url}\n" + "\n".join(told)

    return run
