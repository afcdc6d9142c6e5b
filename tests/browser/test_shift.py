"""A morning on the floor of the demo workshop, from the badge to the row in the journal."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO

import pypdfium2
import zxingcpp
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser import books
from tests.browser.conftest import Show
from tests.browser.shop import Shop
from tests.browser.ways import hand_scanner, record_measured
from tests.phone.tags import as_bytes, photo

SignIn = Callable[[Page, str, str], None]
NewContext = Callable[..., BrowserContext]
LEAD, CLERK, OPERATOR = ("P-01", "0101"), ("P-41", "4141"), ("P-11", "1111")


def tap_in(page: Page, badge: str, pin: str) -> None:
    """Tap a badge, then its PIN on the keypad."""
    page.goto("/sign-in/")
    page.locator(f"button[name=badge][value={badge}]").click()
    for digit in pin:
        page.locator(f"[data-key='{digit}']").click()
    page.get_by_role("button", name="Enter the PIN").click()


def scan(page: Page, show: Show, text: str) -> None:
    """Hold a tag before the camera that the page is asked to open."""
    show(text)
    page.get_by_role("button", name="Open camera").click()


def heading(page: Page, words: str) -> None:
    expect(page.get_by_role("heading", name=words)).to_be_visible()


def test_a_step_goes_from_the_badge_through_two_scans_to_the_journal(
    phone: Page, shop: Shop, show: Show
) -> None:
    body = books.body_tag(shop, "Q-1043")
    tray = books.tray_label(shop, "Q-1043")
    before = books.journal(shop, "Q-1043")

    tap_in(phone, *OPERATOR)
    expect(phone.get_by_role("banner")).to_contain_text("Neck bench")
    heading(phone, "Scan the tag on the body")
    scan(phone, show, books.printed(shop, body))
    phone.wait_for_url(f"{shop.address}/{body}")
    expect(phone.get_by_label("Instrument")).to_contain_text("1043")
    heading(phone, "N40 Gauge the post holes")
    phone.get_by_role("link", name="Scan the tray").click()
    scan(phone, show, books.printed(shop, tray))
    expect(phone.locator(".finding-clear")).to_contain_text("Fits")
    phone.get_by_role("link", name="Measure").click()
    heading(phone, "N40 Measure")
    phone.wait_for_load_state()
    for place in phone.locator("[data-figure]").all():
        place.fill("8.73")
    record_measured(phone)
    phone.get_by_role("button", name="Record N40").click()
    heading(phone, "N50 Press or start the bushings")
    expect(phone.get_by_role("status").filter(has_text="Recorded.")).to_be_visible()

    assert books.journal(shop, "Q-1043")[len(before) :] == [
        ("tray", "recorded", "P-11", "N"),
        ("readings", "recorded", "P-11", "N"),
        ("step", "recorded", "P-11", "N"),
    ]
    assert books.steps(shop, "Q-1043")[-1] == "N40"


def test_another_instrument_s_tray_is_stopped_and_the_clerk_comes(
    phone: Page,
    shop: Shop,
    show: Show,
    sign_in: SignIn,
    context_of: NewContext,
    watch: Callable[[Page], Page],
) -> None:
    before = books.journal(shop, "Q-1055")
    done = books.steps(shop, "Q-1055")
    sign_in(phone, *OPERATOR)
    phone.goto(f"/{books.body_tag(shop, 'Q-1055')}")
    # The oil is not dry in the demo's morning, but the tray may be looked at any time.
    phone.goto(f"/{books.body_tag(shop, 'Q-1055')}/tray/")
    scan(phone, show, books.printed(shop, books.tray_label(shop, "Q-1061")))

    stopped = phone.get_by_role("alert")
    expect(stopped).to_contain_text("Stop")
    expect(stopped).to_contain_text("is for Q-1061. The body in front of you is Q-1055.")
    assert books.steps(shop, "Q-1055") == done
    assert books.journal(shop, "Q-1055")[len(before) :] == [("tray", "refused", "P-11", "N")]

    phone.get_by_role("button", name="Call the clerk").click()
    expect(phone.get_by_role("status")).to_contain_text("The clerk is called")
    clerk = watch(context_of(has_touch=True, is_mobile=True).new_page())
    sign_in(clerk, *CLERK)
    clerk.goto("/calls/")
    call = clerk.locator("#calls .finding", has_text="Q-1055")
    expect(call).to_contain_text("P-11 at station N calls the clerk")
    call.get_by_role("button", name="I am coming").click()
    expect(call).to_have_count(0)
    assert books.journal(shop, "Q-1055")[len(before) + 1 :] == [
        ("call", "recorded", "P-11", "N"),
        ("answer", "recorded", "P-41", "K"),
    ]


def test_a_release_is_printed_its_tray_picked_bin_by_bin_and_stock_goes_down_once(
    desk: Page,
    shop: Shop,
    sign_in: SignIn,
    context_of: NewContext,
    watch: Callable[[Page], Page],
) -> None:
    sign_in(desk, *LEAD)
    desk.goto("/release/")
    for label, choice in [("Body", "Q-1067"), ("Neck", "K-2103"), ("Spec", "FELL")]:
        box = desk.get_by_label(label, exact=True).or_(desk.get_by_label(f"{label}:", exact=True))
        box.select_option(choice)
    desk.get_by_role("button", name="Release", exact=True).click()
    heading(desk, "Q-1067 is released")
    traveller = printed_by(desk, "Traveller")
    assert "Q-1067" in traveller[0].get_textpage().get_text_bounded()
    (own,) = set(squares(traveller))  # a code of its own, so that it tells what changed since
    assert own.startswith(books.printed(shop, "P"))
    assert books.printed(shop, books.body_tag(shop, "Q-1067")) in squares(
        printed_by(desk, "Body tag")
    )

    shelf = books.on_hand(shop)
    label = books.tray_label(shop, "Q-1067")
    clerk = watch(context_of(has_touch=True, is_mobile=True).new_page())
    sign_in(clerk, *CLERK)
    clerk.goto("/waves/")
    for tray in clerk.get_by_role("checkbox").all():
        tray.uncheck()
    clerk.get_by_role("checkbox", name="Q-1067").check()
    clerk.get_by_role("button", name="Make one wave").click()
    clerk.get_by_role("button", name="Walk the bins").click()
    clerk.wait_for_load_state()
    bins = pick_every_bin(clerk)
    assert len(set(bins)) == len(bins)
    assert "B-01" in bins, "the plate of FELL lies in B-01"
    assert books.on_hand(shop) == shelf, "nothing leaves the shelf before the tray is closed"

    clerk.goto(f"/trays/{label}/")
    expect(clerk.get_by_role("button", name="Close the tray")).to_have_count(0)
    check_every_line(clerk, label)
    clerk.get_by_role("button", name="Close the tray").click()
    expect(clerk.locator(".finding-clear")).to_contain_text("Closed")
    taken = fewer(shelf, books.on_hand(shop))
    assert taken == {"T09": 1, "N05": 1, "S01": 1, "P02": 1, "E01": 1, "E04": 1}
    tray_print = printed_by(clerk, "Print the label")
    assert squares(tray_print) == [books.printed(shop, label)]

    clerk.goto(f"/trays/{label}/")
    expect(clerk.get_by_role("button", name="Close the tray")).to_have_count(0)
    assert fewer(shelf, books.on_hand(shop)) == taken


def pick_every_bin(page: Page) -> list[str]:
    """Take what each bin offers until none is left; the bins in the order they came."""
    bins: list[str] = []
    while page.get_by_role("heading", name="No bin left").count() == 0:
        assert len(bins) < 20, f"the walk does not end: {bins}"
        bins.append(page.locator("h1.bin").inner_text())
        for _ in ("bin", "lot"):
            page.get_by_role("link", name="No label").click()
        page.get_by_role("button", name="Taken", exact=True).last.click()
        page.wait_for_load_state()
        expect(page.get_by_role("heading", name=bins[-1], exact=True)).to_have_count(0)
    return bins


def check_every_line(page: Page, label: str) -> None:
    """Count what lies in the tray line by line: machines by wells, and their screws."""
    check = f"/trays/{label}/check/"
    page.goto(check)
    while page.url.endswith(check):
        if page.locator(".wells").count():
            for well in ("left", "right"):
                page.locator(f"input[name={well}][value='3']").check(force=True)
            page.get_by_text("No scale: count them").click()
            page.locator("#screws").fill("7")
            again = page.get_by_role("button", name="Counted so")
        else:
            again = page.locator("button[name=count][value='1']")
        with page.expect_navigation():
            again.click()


def fewer(before: dict[str, int], after: dict[str, int]) -> dict[str, int]:
    """By how many each item has gone down, where it has changed at all."""
    return {key: before[key] - after[key] for key in before if before[key] != after[key]}


def printed_by(page: Page, link: str) -> pypdfium2.PdfDocument:
    """The PDF that the last look behind a link ends in, fetched with the page's own session."""
    address = page.get_by_role("link", name=link, exact=True).get_attribute("href")
    assert address is not None, f"the link {link!r} leads nowhere"
    look = page.context.new_page()
    look.goto(address)
    asked = look.locator("form", has=look.get_by_role("button", name="Print", exact=True))
    fields = asked.evaluate("form => Object.fromEntries(new FormData(form))")
    look.close()
    answer = page.context.request.post("/paper/print/", form=fields)
    assert answer.status == 200
    assert answer.headers["content-type"] == "application/pdf"
    return pypdfium2.PdfDocument(BytesIO(answer.body()))


def squares(paper: pypdfium2.PdfDocument) -> list[str]:
    """The texts of the squares on a print, read at 300 dpi by zxing-cpp, an independent reader."""
    return [
        found.text
        for page in paper
        for found in zxingcpp.read_barcodes(page.render(scale=300 / 72).to_pil())
    ]


def test_a_hand_scanner_at_a_key_every_5_ms_opens_the_instrument(
    phone: Page, shop: Shop, sign_in: SignIn
) -> None:
    body = books.body_tag(shop, "Q-1043")
    sign_in(phone, *OPERATOR)
    phone.goto("/scan/")
    expect(phone.get_by_role("button", name="Open camera")).to_be_visible()
    hand_scanner(phone, body)
    phone.wait_for_url(f"{shop.address}/{body}")
    expect(phone.get_by_label("Instrument")).to_contain_text("1043")


def test_a_photo_of_the_tray_s_label_is_read_and_checked(
    phone: Page, shop: Shop, sign_in: SignIn
) -> None:
    sign_in(phone, *OPERATOR)
    phone.goto(f"/{books.body_tag(shop, 'Q-1061')}/tray/")
    picture = as_bytes(photo(books.printed(shop, books.tray_label(shop, "Q-1061")), turn=12))
    phone.get_by_label("Photo of the tag").set_input_files(
        {"name": "tray.jpg", "mimeType": "image/jpeg", "buffer": picture}
    )
    phone.get_by_role("button", name="Go on with this tag").click()
    expect(phone.locator(".finding-clear")).to_contain_text("Fits")
    assert books.journal(shop, "Q-1061")[-1] == ("tray", "recorded", "P-11", "N")
