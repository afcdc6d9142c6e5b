"""The look at the posts on a phone: six taps, a photo, and what stops before the drill."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from shop.floor.photos import MAX_BYTES
from tests.browser import books
from tests.browser.shop import Shop
from tests.browser.ways import bring_before_the_drill
from tests.phone.tags import as_bytes, photo

SignIn = Callable[[Page, str, str], None]
SERIAL = "Q-1055"
# WOLD, left-handed, common practice, no source: seen from the BACK string 6 is on the left,
# nearest the nut, and string 1 on the right.
FROM_THE_BACK = ("6", "5", "4", "1", "2", "3")


@pytest.fixture(scope="module", autouse=True)
def _before_the_drill(shop: Shop) -> None:
    bring_before_the_drill(shop)


@pytest.fixture
def bench(phone: Page, shop: Shop, sign_in: SignIn) -> Page:
    sign_in(phone, "P-11", "1111")
    phone.goto(f"/{books.body_tag(shop, SERIAL)}/posts/?again=1")
    return phone


def asked(page: Page, words: str) -> None:
    expect(page.get_by_role("heading", level=1)).to_have_text(words)


def read(page: Page, *marks: str) -> None:
    for mark in marks:
        heading = page.get_by_role("heading", level=1).inner_text()
        page.get_by_role("button", name=mark, exact=True).click()
        expect(page.get_by_role("heading", level=1)).not_to_have_text(heading)


def take(page: Page, size: int = 0) -> None:
    """Take a photo, padded to this many bytes behind its end, as some phones' photos are."""
    taken = as_bytes(photo("HTTP://192.168.1.20:8000/B7M49Q2"), exif=b"").ljust(size, b"\0")
    file = {"name": "back.jpg", "mimeType": "image/jpeg", "buffer": taken}
    page.get_by_label("Take the photo from the back").set_input_files(file)  # type: ignore[arg-type]


def looks(shop: Shop) -> list[dict[str, str]]:
    """The marks of each look that was recorded, oldest first."""
    rows = shop.rows(
        "SELECT data FROM floor_entry WHERE subject = %s AND kind = 'positions'"
        " AND outcome = 'recorded' ORDER BY id",
        SERIAL,
    )
    kept = [json.loads(data) if isinstance(data, str) else data for (data,) in rows]
    return [one["marks"] for one in kept]


def test_six_taps_and_a_photo_free_the_step(bench: Page, shop: Shop) -> None:
    before = len(looks(shop))
    asked(bench, "BACK, left side, first from the nut")
    read(bench, *FROM_THE_BACK)
    asked(bench, "All 6 are read")
    take(bench)
    expect(bench.get_by_alt_text("The photo just taken")).to_be_visible()
    bench.get_by_role("button", name="Record the check").click()
    expect(bench.get_by_role("button", name="Record N60")).to_be_visible()
    assert looks(shop)[before:] == [
        {"R1": "6", "R2": "5", "R3": "4", "L1": "1", "L2": "2", "L3": "3"}
    ]


def test_a_tap_is_answered_without_leaving_the_page_and_taken_back(bench: Page) -> None:
    bench.evaluate("window.stayed = true")
    read(bench, "6", "5")
    asked(bench, "BACK, left side, third from the nut")
    bench.get_by_role("button", name="Take back 5").click()
    asked(bench, "BACK, left side, second from the nut")
    assert bench.evaluate("window.stayed") is True
    expect(bench.get_by_role("heading", level=1)).to_be_focused()


def test_a_hand_scanner_answers_for_the_post_asked_wherever_the_focus_is(bench: Page) -> None:
    for mark, then in [("6", "second"), ("5", "third")]:
        bench.keyboard.press(mark)
        expect(bench.get_by_label("Mark, scanned or typed")).to_have_value(mark)
        bench.keyboard.press("Enter")
        asked(bench, f"BACK, left side, {then} from the nut")
    expect(bench.locator("#post-R1")).to_contain_text("marked 6")


def test_marks_are_called_out_and_posts_tapped(bench: Page) -> None:
    bench.get_by_role("button", name="Go mark by mark").click()
    asked(bench, "Which machine is marked 6?")
    bench.get_by_role("button", name="left side, first from the nut").click()
    asked(bench, "Which machine is marked 5?")
    expect(bench.locator("#post-R1")).to_contain_text("marked 6")


def test_all_posts_and_all_marks_lie_on_the_glass_at_once(bench: Page) -> None:
    """At 390 by 844 nothing is scrolled between two taps."""
    glass = bench.viewport_size
    assert glass is not None
    pad = bench.locator(".pad").bounding_box()
    assert pad is not None
    for button in bench.locator(".plan button, .pad button").all():
        box = button.bounding_box()
        assert box is not None
        assert box["height"] >= 56
        foot = box["y"] + box["height"]
        assert foot <= (pad["y"] if box["y"] < pad["y"] else glass["height"])


def test_swapped_machines_are_shown_with_their_photo_and_checked_again(
    bench: Page, shop: Shop
) -> None:
    read(bench, "5", "6", *FROM_THE_BACK[2:])
    take(bench)
    bench.get_by_role("button", name="Record the check").click()
    asked(bench, "2 of 6 machines on another's post")
    wrong = bench.locator(".post-wrong")
    expect(wrong).to_have_count(2)
    expect(wrong.last).to_contain_text("5 is here, 6 belongs")
    picture = bench.get_by_alt_text("N60, seen from the BACK")
    picture.scroll_into_view_if_needed()
    bench.wait_for_function(
        "one => one.complete && one.naturalWidth > 100", arg=picture.element_handle()
    )
    tag = books.body_tag(shop, SERIAL)
    bench.goto(f"/{tag}")
    expect(bench.get_by_role("button", name="Record N60")).to_have_count(0)
    bench.get_by_role("link", name="Check the posts").click()
    bench.get_by_role("link", name="Check the posts again").click()
    read(bench, *FROM_THE_BACK)
    take(bench)
    bench.get_by_role("button", name="Record the check").click()
    expect(bench.get_by_role("button", name="Record N60")).to_be_visible()
    bench.goto(f"/{tag}/route/")
    # Loaded once it comes near the glass.
    taken = bench.get_by_alt_text("N60, seen from the BACK").first
    taken.evaluate("one => one.scrollIntoView()")
    expect(taken).to_be_visible()


def test_a_photo_of_12_mb_passes_the_server_and_a_bigger_one_gets_its_sentence(
    bench: Page, shop: Shop
) -> None:
    before = len(looks(shop))
    read(bench, *FROM_THE_BACK)
    take(bench, MAX_BYTES + 1)
    bench.get_by_role("button", name="Record the check").click()
    expect(bench.get_by_role("alert")).to_contain_text("This photo is over 12 MB.")
    asked(bench, "All 6 are read")
    assert len(looks(shop)) == before
    take(bench, MAX_BYTES)
    bench.get_by_role("button", name="Record the check").click()
    expect(bench.get_by_role("button", name="Record N60")).to_be_visible()
    assert len(looks(shop)) == before + 1


def test_a_kept_photo_is_shown_to_nobody_who_is_not_signed_in(
    bench: Page, shop: Shop, context_of: Callable[..., BrowserContext]
) -> None:
    read(bench, *FROM_THE_BACK)
    take(bench)
    bench.get_by_role("button", name="Record the check").click()
    expect(bench.get_by_role("button", name="Record N60")).to_be_visible()
    ((sha256,),) = shop.rows("SELECT sha256 FROM floor_photo ORDER BY id DESC LIMIT 1")
    assert (Path(shop.data) / "photos" / sha256[:2] / f"{sha256}.jpg").exists()
    assert bench.context.request.get(f"/photo/{sha256}/").status == 200
    assert context_of().request.get(f"/photo/{sha256}/").status == 401


def test_plain_machines_are_looked_at_from_the_back_and_photographed(
    phone: Page, shop: Shop, sign_in: SignIn, audit: Callable[[Page], None]
) -> None:
    bring_before_the_drill(shop, "Q-1043")
    sign_in(phone, "P-11", "1111")
    phone.goto(f"/{books.body_tag(shop, 'Q-1043')}/posts/")
    asked(phone, "Look at the BACK")
    expect(phone.locator(".head-drawing")).to_contain_text("BACK")
    phone.evaluate("scrollTo(0, document.body.scrollHeight)")
    audit(phone)
    take(phone)
    phone.get_by_role("button", name="Record the check").click()
    expect(phone.get_by_role("button", name="Record N60")).to_be_visible()


def test_the_whole_check_goes_without_script(
    shop: Shop, context_of: Callable[..., BrowserContext], sign_in: SignIn
) -> None:
    before = len(looks(shop))
    plain = context_of(java_script_enabled=False).new_page()
    sign_in(plain, "P-11", "1111")
    plain.goto(f"/{books.body_tag(shop, SERIAL)}/posts/?again=1")
    for mark in FROM_THE_BACK[:5]:
        plain.get_by_role("button", name=mark, exact=True).click()
    box = plain.get_by_label("Mark, scanned or typed")
    box.fill(FROM_THE_BACK[5])
    box.press("Enter")
    asked(plain, "All 6 are read")
    plain.get_by_text("No photo?", exact=True).click()
    plain.get_by_label("The lens is dirty").check()
    plain.get_by_role("button", name="Record the check").click()
    expect(plain.get_by_role("button", name="Record N60")).to_be_visible()
    assert len(looks(shop)) == before + 1
