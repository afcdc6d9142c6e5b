"""The camera of a phone, from the tap to the look-up, in a real Chromium.

Debian's Chromium has no reader of its own, so these go through the fetched one.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Show
from tests.browser.shop import Shop
from tests.browser.ways import hand_scanner
from tests.phone.tags import as_bytes, photo

SignIn = Callable[[Page, str, str], None]
# A badge of the demo workshop that may scan.
OPERATOR = ("P-14", "1414")
CODE = "B7M49Q2"


@pytest.fixture
def scan(phone: Page, sign_in: SignIn) -> Page:
    """The scan page of somebody who is signed in."""
    sign_in(phone, *OPERATOR)
    phone.goto("/photo/")
    return phone


def said(page: Page, words: str) -> None:
    expect(page.locator("[data-said]")).to_contain_text(words)


def open_camera(page: Page) -> None:
    page.get_by_role("button", name="Open camera").click()


def posted(page: Page) -> list[str]:
    """The codes that the page's scan form will have sent, none of which goes out."""
    sent: list[str] = []
    page.expose_function("tell", lambda code: sent.append(code))
    page.evaluate(
        """() => document.querySelector("form[data-typed]").addEventListener("submit", (event) => {
            event.preventDefault();
            tell(event.target.elements.code.value);
        })"""
    )
    return sent


def wait_for(page: Page, sent: list[str], count: int = 1) -> None:
    for _ in range(100):
        if len(sent) >= count:
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"{len(sent)} codes came within 5 s, not {count}")


def test_a_tag_before_the_camera_is_sent_and_the_camera_closed(
    scan: Page, shop: Shop, show: Show
) -> None:
    show(f"{shop.address.upper()}/{CODE}")
    sent = posted(scan)
    open_camera(scan)
    wait_for(scan, sent)
    assert sent == [CODE]
    expect(scan.locator("[data-view]")).to_be_hidden()
    assert scan.evaluate("document.querySelector('video').srcObject") is None


def test_a_tag_of_another_place_is_sent_whole_and_not_gone_to(scan: Page, show: Show) -> None:
    here = scan.url
    show(f"HTTP://192.0.2.7/{CODE}")
    sent = posted(scan)
    open_camera(scan)
    wait_for(scan, sent)
    assert (sent, scan.url) == ([f"HTTP://192.0.2.7/{CODE}"], here)


def test_a_square_that_is_no_tag_is_said_so_and_the_camera_looks_on(
    scan: Page, shop: Shop, show: Show
) -> None:
    show("https://192.0.2.7/a/menu.html")
    sent = posted(scan)
    open_camera(scan)
    said(scan, "not a tag of this shop")
    expect(scan.locator("[data-view]")).to_be_visible()
    assert sent == []


def test_a_black_picture_offers_the_other_ways_after_three_seconds(scan: Page, show: Show) -> None:
    show(None, ground=(0, 0, 0))
    open_camera(scan)
    said(scan, "No picture after 3 s")


def test_a_camera_that_does_not_open_offers_the_other_ways_after_three_seconds(
    phone: Page, sign_in: SignIn
) -> None:
    phone.add_init_script("MediaDevices.prototype.getUserMedia = () => new Promise(() => {});")
    sign_in(phone, *OPERATOR)
    phone.goto("/photo/")
    open_camera(phone)
    said(phone, "No picture after 3 s")
    expect(phone.locator("[data-instead]")).to_be_visible()


def test_a_camera_that_is_taken_away_offers_the_other_ways(scan: Page, show: Show) -> None:
    show(None)
    open_camera(scan)
    said(scan, "inside the frame")
    scan.evaluate(
        """() => document.querySelector("video").srcObject.getTracks()[0]
            .dispatchEvent(new Event("ended"))"""
    )
    said(scan, "No camera found")
    expect(scan.locator("[data-instead]")).to_be_visible()
    expect(scan.get_by_role("button", name="Open camera")).to_be_visible()


def test_closing_the_camera_ends_every_track(scan: Page, show: Show) -> None:
    show(None)
    open_camera(scan)
    said(scan, "inside the frame")
    scan.evaluate("window.track = document.querySelector('video').srcObject.getTracks()[0]")
    scan.get_by_role("button", name="Close camera").click()
    assert scan.evaluate("track.readyState") == "ended"


def test_a_reader_of_the_browser_s_own_is_used_where_it_truly_works(
    phone: Page, sign_in: SignIn, show: Show
) -> None:
    phone.add_init_script(
        f"""window.BarcodeDetector = class {{
            static async getSupportedFormats() {{ return ["qr_code"]; }}
            async detect() {{ return [{{ rawValue: "{CODE}" }}]; }}
        }}"""
    )
    asked: list[str] = []
    phone.on("request", lambda request: asked.append(request.url))
    sign_in(phone, *OPERATOR)
    phone.goto("/photo/")
    show(None)
    sent = posted(phone)
    open_camera(phone)
    wait_for(phone, sent)
    assert sent == [CODE]
    assert not [url for url in asked if "zxing" in url]


@pytest.mark.parametrize(
    "broken",
    [
        "static async getSupportedFormats() { return []; }",
        "static async getSupportedFormats() { throw new Error('no service'); }",
        """static async getSupportedFormats() { return ["qr_code"]; }
           async detect() { throw new Error('no service'); }""",
    ],
    ids=["reads no QR", "has no service", "fails at the first look"],
)
def test_a_reader_of_the_browser_s_own_that_fails_gives_way_to_the_fetched_one(
    phone: Page, sign_in: SignIn, show: Show, broken: str
) -> None:
    phone.add_init_script(f"window.BarcodeDetector = class {{ {broken} }}")
    sign_in(phone, *OPERATOR)
    phone.goto("/photo/")
    show(CODE)
    sent = posted(phone)
    open_camera(phone)
    wait_for(phone, sent)
    assert sent == [CODE]


def test_the_light_is_offered_where_the_camera_has_one(
    phone: Page, sign_in: SignIn, show: Show
) -> None:
    phone.add_init_script(
        """MediaStreamTrack.prototype.getCapabilities = () => ({ torch: true });
        MediaStreamTrack.prototype.applyConstraints = async (wish) => { window.wish = wish; };"""
    )
    sign_in(phone, *OPERATOR)
    phone.goto("/photo/")
    show(None)
    open_camera(phone)
    light = phone.get_by_role("button", name="Light")
    light.click()
    expect(light).to_have_attribute("aria-pressed", "true")
    assert phone.evaluate("wish.advanced[0].torch") is True


def test_a_page_without_a_secure_address_says_which_ways_are_left(
    phone: Page, sign_in: SignIn
) -> None:
    phone.add_init_script("Object.defineProperty(window, 'isSecureContext', { value: false })")
    sign_in(phone, *OPERATOR)
    phone.goto("/photo/")
    said(phone, "The camera needs an address that starts with https")
    expect(phone.get_by_role("button", name="Open camera")).to_be_hidden()
    expect(phone.get_by_label("Code printed beside the square")).to_be_visible()
    expect(phone.get_by_label("Photo of the tag")).to_be_visible()


def test_a_hand_scanner_fills_the_form_from_anywhere_on_the_page(scan: Page) -> None:
    sent = posted(scan)
    hand_scanner(scan, CODE)
    wait_for(scan, sent)
    assert sent == [CODE]


def test_a_hand_that_types_slowly_is_no_hand_scanner(scan: Page) -> None:
    sent = posted(scan)
    scan.keyboard.type(CODE, delay=150)
    scan.keyboard.press("Enter")
    scan.wait_for_timeout(300)
    assert sent == []


def test_a_photo_is_read_and_looked_up(scan: Page, tmp_path: Path) -> None:
    picture = tmp_path / "tag.jpg"
    picture.write_bytes(as_bytes(photo(CODE, turn=20)))
    scan.get_by_label("Photo of the tag").set_input_files(picture)
    scan.wait_for_url(re.compile(rf"/scan/\?code={CODE}$"))


def test_a_photo_without_a_tag_says_what_to_do(scan: Page, tmp_path: Path) -> None:
    picture = tmp_path / "wood.jpg"
    picture.write_bytes(as_bytes(photo()))
    scan.get_by_label("Photo of the tag").set_input_files(picture)
    expect(scan.get_by_role("alert")).to_contain_text("No tag seen")
    assert scan.evaluate("document.documentElement.dataset.cued") == "warn"


def test_the_scan_page_meets_the_guidelines_with_the_camera_open(
    scan: Page, show: Show, audit: Callable[[Page], None]
) -> None:
    show(None)
    audit(scan)
    open_camera(scan)
    said(scan, "inside the frame")
    audit(scan)
