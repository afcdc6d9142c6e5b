"""The ways that lead a browser to each screen of the shop.

A way changes as little as it can, and no two ways need the same thing unchanged, so that the
screens may be looked at in any order.
"""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from playwright.sync_api import Page, expect

from tests.browser import books
from tests.browser.shop import Shop
from tests.phone.tags import as_bytes, photo

Way = Callable[[Page, Shop], None]


def to(path: str) -> Way:
    def go(page: Page, shop: Shop) -> None:
        page.goto(path)

    return go


def to_body(serial: str, more: str = "") -> Way:
    def go(page: Page, shop: Shop) -> None:
        page.goto(f"/{books.body_tag(shop, serial)}{more}")

    return go


def to_tray(serial: str, more: str = "") -> Way:
    def go(page: Page, shop: Shop) -> None:
        page.goto(f"/trays/{books.tray_label(shop, serial)}/{more}")

    return go


def to_gauge(name: str) -> Way:
    """The page that takes a gauge in hand, as its tag leads to."""

    def go(page: Page, shop: Shop) -> None:
        ((code,),) = shop.rows("SELECT code FROM floor_gauge WHERE name = %s", name)
        page.goto(f"/{code}/in-hand/")

    return go


def hand_scanner(page: Page, code: str) -> None:
    """Keys and Enter as a hand scanner sends them. A machine that does much else sends them
    more slowly: the phone is told so, as its holder would."""
    page.evaluate("localStorage.setItem('heelcap.gap', '250')")
    page.keyboard.type(code, delay=3)
    page.keyboard.press("Enter")


def type_code(page: Page, code: str) -> None:
    page.get_by_label("Code printed beside the square").fill(code)
    page.get_by_role("button", name="Look up").click()


def refused_pin(page: Page, shop: Shop) -> None:
    page.goto("/sign-in/?badge=P-51")
    page.locator("#pin").fill("9999")
    page.get_by_role("button", name="Enter the PIN").click()
    expect(page.get_by_role("alert")).to_be_visible()


def refused_card(page: Page, shop: Shop) -> None:
    page.goto("/sign-in/")
    type_code(page, "B7M49Q2")
    expect(page.get_by_role("alert")).to_contain_text("not a badge card")


def scanned_before(page: Page, shop: Shop) -> None:
    for serial in ("Q-1043", "Q-1044"):
        page.goto(f"/{books.body_tag(shop, serial)}")
    page.goto("/scan/")
    expect(page.get_by_role("link", name="Q-1044")).to_be_visible()


def after_scan(body: str, tray: str, expected: str) -> Way:
    """The tray of one instrument scanned beside the body of another, or of the same."""

    def go(page: Page, shop: Shop) -> None:
        page.goto(f"/{books.body_tag(shop, body)}/tray/")
        type_code(page, books.tray_label(shop, tray))
        expect(page.locator("main")).to_contain_text(expected)

    return go


def called(page: Page, shop: Shop) -> None:
    after_scan("Q-1050", "Q-1061", "Stop")(page, shop)
    page.get_by_role("button", name="Call the clerk").click()
    expect(page.get_by_role("status")).to_contain_text("is called")


def call_to_answer(page: Page, shop: Shop) -> None:
    ask(
        page,
        shop,
        f"/{books.body_tag(shop, 'Q-1049')}/call/",
        whom="lead",
        words="Post hole 6.52 mm.",
    )
    page.goto("/calls/")
    expect(page.get_by_role("button", name="I am coming").first).to_be_visible()


def calls_answered(page: Page, shop: Shop) -> None:
    page.goto("/calls/")
    while coming := page.get_by_role("button", name="I am coming").all():
        coming[0].click()
        expect(page.get_by_role("button", name="I am coming")).to_have_count(len(coming) - 1)
    expect(page.get_by_text("Nobody calls.")).to_be_visible()


def recorded(page: Page, shop: Shop) -> None:
    """P-14 opens the tail hole of Q-1043: a step that asks for neither tray nor neck."""
    measured(page, shop, "Q-1043", "10.5", "20")
    page.get_by_role("button", name="Record B30").click()
    expect(page.get_by_role("status").filter(has_text="Recorded.")).to_be_visible()


def other_neck(page: Page, shop: Shop) -> None:
    page.goto(f"/{books.body_tag(shop, 'Q-1061')}/neck/")
    type_code(page, books.neck_tag(shop, "K-2081"))
    expect(page.get_by_role("heading", name="Stop")).to_be_visible()


def right_neck(page: Page, shop: Shop) -> None:
    page.goto(f"/{books.body_tag(shop, 'Q-1061')}/neck/")
    type_code(page, books.neck_tag(shop, "K-2095"))
    expect(page.get_by_role("button", name="Record J10")).to_be_visible()


def not_to_close(page: Page, shop: Shop) -> None:
    ask(page, shop, f"/trays/{books.tray_label(shop, 'Q-1065')}/close/")
    to_tray("Q-1065")(page, shop)
    expect(page.get_by_role("alert")).to_be_visible()


def line_of_a_tray(page: Page, shop: Shop) -> None:
    to_tray("Q-1064")(page, shop)
    page.locator("main").get_by_role("link", name="Change").first.click()
    expect(page.get_by_role("button", name="Taken")).to_be_visible()


def in_a_wave(page: Page, shop: Shop, *serials: str) -> None:
    """These trays are in a wave of their own, or were put into one by another way before."""
    for serial in serials:
        page.goto("/waves/")
        for tray in page.get_by_role("checkbox").all():
            tray.uncheck()
        box = page.get_by_role("checkbox", name=serial)
        if box.count():
            box.check()
            page.get_by_role("button", name="Make one wave").click()
            page.wait_for_load_state()


def walk_of(serial: str, step: str = "bin") -> Way:
    """The first bin of a tray's walk, taken up here; ``step``: "bin", "lot", "count" or "left"."""

    def go(page: Page, shop: Shop) -> None:
        in_a_wave(page, shop, serial)
        ((walk,),) = shop.rows(
            "SELECT MAX(walk_id) FROM stock_trayline JOIN stock_tray ON tray_id = stock_tray.id "
            "WHERE serial = %s",
            serial,
        )
        page.goto(f"/walks/{walk}/")
        for name in ("Take it up here", "Resume here"):
            if page.get_by_role("button", name=name).count():
                page.get_by_role("button", name=name).click()
                page.wait_for_load_state()
        unscanned = {"bin": 0, "lot": 1, "count": 2, "left": 2}[step]
        for _ in range(unscanned):
            page.get_by_role("link", name="No label").click()
            page.wait_for_load_state()
        if step == "left":
            page.locator("input[name=found]").fill("0")
            page.get_by_role("button", name="Taken", exact=True).last.click()
            expect(page.get_by_text("How many are left in")).to_be_visible()

    return go


def wave_of(serial: str) -> Way:
    def go(page: Page, shop: Shop) -> None:
        in_a_wave(page, shop, serial)
        ((wave,),) = shop.rows("SELECT wave_id FROM stock_tray WHERE serial = %s", serial)
        page.goto(f"/waves/{wave}/")

    return go


def scanned_wrong_bin(page: Page, shop: Shop) -> None:
    walk_of("Q-1063")(page, shop)
    page.locator("#code").fill("A-04")
    page.get_by_role("button", name="Look up").click()
    expect(page.get_by_role("alert")).to_contain_text("Go to")


def walked(page: Page, shop: Shop) -> None:
    """Every bin of Q-1062 is short."""
    walk_of("Q-1062")(page, shop)
    while page.get_by_role("heading", name="No bin left").count() == 0:
        bin_of = page.locator("h1.bin").inner_text()
        for _ in range(2):
            page.get_by_role("link", name="No label").click()
        page.locator("input[name=found]").fill("0")
        page.get_by_role("button", name="Taken", exact=True).last.click()
        page.get_by_role("button", name="None left").click()
        page.wait_for_load_state()
        expect(page.get_by_role("heading", name=bin_of, exact=True)).to_have_count(0)


def picked_short(page: Page, shop: Shop) -> None:
    walked(page, shop)
    to_tray("Q-1062")(page, shop)
    expect(page.get_by_text("PARTIAL:")).to_be_visible()


def counted_short(page: Page, shop: Shop) -> None:
    """Five where there are many more: a second badge is asked to count."""
    page.goto("/counts/5/")
    page.locator("#counted").fill("5")
    page.get_by_role("button", name="Counted", exact=True).click()
    page.goto("/counts/5/")
    expect(page.get_by_text("It waits for another badge")).to_be_visible()


def reckoned(page: Page, shop: Shop) -> None:
    page.goto("/reorder/")
    page.locator("summary").first.click()


def brought_in(row: str) -> Way:
    """A list of one receipt, read and not taken over."""

    def go(page: Page, shop: Shop) -> None:
        page.goto("/lists/?what=receipts")
        text = f"item,quantity,due,order number\r\n{row}\r\n"
        file = {"name": "receipts.csv", "mimeType": "text/csv", "buffer": text.encode()}
        page.locator("input[name=file]").set_input_files(file)  # type: ignore[arg-type]
        page.locator("input[name=what][value=receipts]").check()
        page.get_by_role("button", name="Read the list").click()
        page.wait_for_url("**/lists/*/")

    return go


def miscounted(page: Page, shop: Shop) -> None:
    to_tray("Q-1044", "check/")(page, shop)
    page.locator("button[name=count]").last.click()
    expect(page.get_by_role("alert")).to_be_visible()


def release_refused(page: Page, shop: Shop) -> None:
    """A neck of another model than the body's."""
    page.goto("/release/")
    page.locator("#id_body").select_option("Q-1067")
    page.locator("#id_neck").select_option("K-2099")
    page.locator("#id_spec").select_option("FELL")
    page.get_by_role("button", name="Release", exact=True).click()
    expect(page.get_by_role("alert")).to_be_visible()


def release_unsaid(page: Page, shop: Shop) -> None:
    """A deviation with nobody's name to it."""
    page.goto("/release/")
    page.get_by_text("Deviation 1").click()
    page.locator("#id_words_0").fill("Gold machines")
    page.get_by_role("button", name="Release", exact=True).click()
    expect(page.get_by_text("Name who agreed")).to_be_visible()


def arrival_misread(page: Page, shop: Shop) -> None:
    page.goto("/arrivals/")
    page.locator("#id_serial").fill("1043")
    page.get_by_role("button", name="Book it in").click()
    expect(page.get_by_text("A letter, a dash")).to_be_visible()


def measured(page: Page, shop: Shop, serial: str, *values: str) -> None:
    """Enter values at the places that are measured now, in their order, and record them."""
    to_body(serial, "/gauge/")(page, shop)
    for place, value in zip(page.locator("[data-figure]").all(), values, strict=False):
        place.fill(value)
    record_measured(page)


def record_measured(page: Page) -> None:
    page.locator("[data-key=done]").click()
    with page.expect_navigation():
        page.get_by_role("button", name="Record these values").click()


def frets_typed(page: Page, shop: Shop, first: str) -> None:
    """Every fret of one board on three lines: the first as told, the twelfth low."""
    to_body("Q-1049", "/set-up/frets/heights/?lines=3")(page, shop)
    page.get_by_label("A new reading of all").check()
    for number, place in enumerate(page.locator("[data-figure]").all()):
        fret = number // 3 + 1
        place.fill(first if number == 0 else "0.95" if fret == 12 else "1.10")
    page.locator("[data-key=done]").click()
    with page.expect_navigation():
        page.get_by_role("button", name="Record these heights").click()


def fret_doubted(page: Page, shop: Shop) -> None:
    frets_typed(page, shop, "1.7")
    expect(page.get_by_label("I measured again: it is so")).to_be_visible()


def fret_plan(page: Page, shop: Shop) -> None:
    frets_typed(page, shop, "1.10")
    expect(page.get_by_text("Reseat fret 12, do not level")).to_be_visible()


def fret_plan_wrong(page: Page, shop: Shop) -> None:
    fret_plan(page, shop)
    page.get_by_label("Fall-off to file at the last fret").fill("30")
    page.get_by_role("button", name="Show").click()
    expect(page.get_by_text("A figure below cannot be")).to_be_visible()


def measured_wrong(page: Page, shop: Shop) -> None:
    """One peghead that cannot be, one that is doubted."""
    measured(page, shop, "Q-1044", "145", "16.2")
    expect(page.get_by_label("I measured again: it is so")).to_be_visible()


def measured_stop(page: Page, shop: Shop) -> None:
    """A peghead thicker than the machines of the kit take."""
    measured(page, shop, "Q-1063", "15.8", "15.8", "15.8")
    page.locator("[data-key=done]").click()
    for tick in page.get_by_label("I measured again: it is so").all():
        tick.check()
    with page.expect_navigation():
        page.get_by_role("button", name="Record these values").click()
    expect(page.get_by_role("link", name="Measure again")).to_be_visible()


def measured_stop_unfolded(page: Page, shop: Shop) -> None:
    measured_stop(page, shop)
    page.locator("summary").first.click()
    expect(page.get_by_text("Whose limit").first).to_be_visible()


def measure_again(page: Page, shop: Shop) -> None:
    measured_stop(page, shop)
    page.get_by_role("link", name="Back to Q-1063").click()
    expect(page.get_by_role("link", name="Measure again")).to_be_visible()


def room_noted(page: Page, shop: Shop) -> None:
    read_room(page, "21,5")
    expect(page.get_by_role("status").filter(has_text="The room is noted.")).to_be_visible()


def room_refused(page: Page, shop: Shop) -> None:
    """Degrees Fahrenheit, taken for Celsius."""
    read_room(page, "70")
    expect(page.get_by_role("alert")).to_contain_text("is no temperature of a room")


def read_room(page: Page, temp_c: str) -> None:
    page.goto("/room/")
    page.get_by_label("Temperature").fill(temp_c)
    page.get_by_label("Humidity").fill("48")
    page.get_by_role("button", name="Note the room").click()


def room_typed(page: Page, shop: Shop) -> None:
    page.goto("/room/")
    page.get_by_label("A small gauge types here").fill("21.4 47")
    page.get_by_label("A small gauge types here").press("Enter")
    expect(page.get_by_role("alert")).to_contain_text("is not what a small gauge types")


def room_log_faults(page: Page, shop: Shop) -> None:
    bring_log(page, "2031-03-03T06:45,21.4,47\n2031-03-03T06:55Z,70,47\n")
    expect(page.get_by_role("alert")).to_contain_text("has no zone")


def room_days(page: Page, shop: Shop) -> None:
    """A night too dry for the room's alarm, and not so dry that a hold stands still."""
    read = [datetime.now(UTC) - timedelta(minutes=10 * one) for one in range(60, 0, -1)]
    lines = (
        f"{at:%Y-%m-%dT%H:%MZ},21.{place % 4},{41 if 20 < place < 40 else 47}\n"
        for place, at in enumerate(read)
    )
    bring_log(page, "".join(lines))
    expect(page.get_by_role("heading", name="Alarms")).to_be_visible()


def bring_log(page: Page, lines: str) -> None:
    page.goto("/room/log/")
    page.get_by_label("Name of the sensor").fill("S-2")
    content = f"when,celsius,rh\n{lines}".encode()
    page.get_by_label("Log as CSV").set_input_files(
        {"name": "log.csv", "mimeType": "text/csv", "buffer": content}
    )
    page.get_by_role("button", name="Note the log").click()


def locked_badge(page: Page, shop: Shop) -> None:
    for _ in range(6):
        ask(page, shop, "/sign-in/", keep_session=False, badge="P-24", pin="0000")
    page.goto("/badges/")
    expect(page.get_by_role("button", name="Unlock P-24")).to_be_visible()


def photo_of_wood(page: Page, shop: Shop) -> None:
    page.goto("/photo/")
    wood = {"name": "wood.jpg", "mimeType": "image/jpeg", "buffer": as_bytes(photo())}
    page.get_by_label("Photo of the tag").set_input_files(wood)  # type: ignore[arg-type]
    expect(page.get_by_role("alert")).to_contain_text("No tag seen")


def photo_of_a_tray(page: Page, shop: Shop) -> None:
    page.goto(f"/{books.body_tag(shop, 'Q-1043')}/tray/")
    code = books.tray_label(shop, "Q-1043")
    tag = {"name": "tag.jpg", "mimeType": "image/jpeg", "buffer": as_bytes(photo(code))}
    page.get_by_label("Photo of the tag").set_input_files(tag)  # type: ignore[arg-type]
    expect(page.get_by_role("heading", name="Tag read")).to_be_visible()


def locked_pad(page: Page, shop: Shop) -> None:
    """The phone was idle; a tap on Record is answered by the pad, over the page."""
    page.goto(f"/{books.body_tag(shop, 'Q-1055')}")
    ask(page, shop, "/sign-in/pad/")
    page.get_by_role("button", name="Record B10").click()
    expect(page.locator("#lock")).to_contain_text("Locked: badge")


def kept(page: Page, shop: Shop) -> None:
    """The phone was idle; a form that is no act at a bench is offered again after the PIN."""
    page.goto("/station/")
    ask(page, shop, "/sign-in/pad/")
    page.locator("main form button").first.click()
    page.locator("main #pin").fill("1111")
    page.get_by_role("button", name="Enter the PIN").click()
    expect(page.get_by_role("heading", name="Your entry is kept")).to_be_visible()


def page_too_old(page: Page, shop: Shop) -> None:
    """The form's word for who asks is none that the shop gave; a cookie that is taken away may be
    given again by what the page asks for by itself."""
    page.goto("/station/")
    page.locator("main form").first.evaluate(
        "one => { one.elements.csrfmiddlewaretoken.value = 'a'.repeat(64); }"
    )
    page.locator("main form button").first.click()
    expect(page.get_by_role("heading", name="The page is too old")).to_be_visible()


def nothing_found(page: Page, shop: Shop) -> None:
    page.goto("/release/Q-9999/")
    expect(page.get_by_role("heading", name="Nothing here")).to_be_visible()


def void_tag(page: Page, shop: Shop) -> None:
    code = books.body_tag(shop, "Q-1041")
    ask(page, shop, "/release/Q-1041/tag/", reason="lost", mark="Q-1041")
    page.goto(f"/{code}")
    expect(page.get_by_role("alert")).to_be_visible()


def bring_before_the_drill(shop: Shop, serial: str = "Q-1055") -> None:
    """Record what comes before N60 on an instrument, where machines are looked at first."""
    shop.manage(
        "shell",
        "--no-imports",
        "-c",
        "from django.utils import timezone\n"
        "from tests.floor.drilling import bring, look_first\n"
        f"look_first(); bring({serial!r}, timezone.now())",
    )


def posts_asked(page: Page, shop: Shop) -> None:
    bring_before_the_drill(shop)
    to_body("Q-1055", "/posts/?again=1")(page, shop)
    expect(page.get_by_text("Which mark is on this machine?")).to_be_visible()


def marks_called_out(page: Page, shop: Shop) -> None:
    posts_asked(page, shop)
    page.get_by_role("button", name="Go mark by mark").click()
    expect(page.get_by_text("Tap its post.")).to_be_visible()


def posts_read(marks: str) -> Way:
    """The marks read from the back, the left side from the nut and then the right."""

    def go(page: Page, shop: Shop) -> None:
        posts_asked(page, shop)
        for place, mark in enumerate(marks, 1):
            page.get_by_role("button", name=mark, exact=True).click()
            expect(page.locator(".plan .post-read")).to_have_count(place)
        expect(page.get_by_role("button", name="Record the check")).to_be_visible()

    return go


def no_photo(page: Page, shop: Shop) -> None:
    posts_read("654123")(page, shop)
    page.get_by_role("button", name="Record the check").click()
    expect(page.get_by_role("alert")).to_contain_text("No photo from the back.")


def posts_wrong(page: Page, shop: Shop) -> None:
    posts_read("564123")(page, shop)
    page.get_by_text("No photo?", exact=True).click()
    page.get_by_label("The lens is dirty").check()
    page.get_by_role("button", name="Record the check").click()
    expect(page.locator(".post-wrong")).to_have_count(2)


def other_loop(page: Page, shop: Shop) -> None:
    """A word that leads to several loops, and all the others unfolded below them."""
    to_body("Q-1040", "/defect/?family=setup&word=buzz&zone=2")(page, shop)
    page.get_by_text("Something else makes it good").click()
    expect(page.get_by_role("link", name="Dead string at the element")).to_be_visible()


def case_out(more: str) -> Way:
    """Q-1038 out of its case, whose days are over."""

    def go(page: Page, shop: Shop) -> None:
        ask(page, shop, f"/{books.body_tag(shop, 'Q-1038')}/case/", do="out")
        to_body("Q-1038", more)(page, shop)
        expect(page.get_by_text("Out of its case since").first).to_be_visible()

    return go


def at_repair(more: str) -> Way:
    """Q-1041 at Repair with a chip."""

    def go(page: Page, shop: Shop) -> None:
        to_body("Q-1041")(page, shop)
        if not page.get_by_text("On the loop").count():
            ask(
                page,
                shop,
                f"/{books.body_tag(shop, 'Q-1041')}/defect/",
                family="finish",
                word="chip",
                zone="1",
                loop="finish chip",
                depth="0.4",
            )
        to_body("Q-1041", more)(page, shop)
        expect(page.get_by_text(re.compile("chip, zone 1", re.IGNORECASE)).first).to_be_visible()

    return go


AT_THE_DOORS = (
    "from datetime import timedelta\n"
    "from django.utils import timezone\n"
    "from shop.floor import board, door\n"
    "from tests.floor.morning import act, now\n"
    "at = timezone.now()\n"
)


def laid_out(shop: Shop, code: str) -> None:
    """Do what no screen of the morning does, by the shop's own doors."""
    shop.manage("shell", "--no-imports", "-c", AT_THE_DOORS + code)


def begin(shop: Shop, serial: str, operation: str, by: str, station: str) -> None:
    """A step is open in these hands, whatever was before."""
    laid_out(
        shop,
        f"it = now({serial!r})\n"
        f"begun = door.StepStarted(it.id, {operation!r})\n"
        f"it.open or door.record(act({by!r}, {station!r}, at), begun)",
    )


def opened_by(by: str, more: str = "") -> Way:
    """Q-1065, whose first operation is open in these hands, or on a page of it."""

    def go(page: Page, shop: Shop) -> None:
        begin(shop, "Q-1065", "B10", by, "B")
        to_body("Q-1065", more)(page, shop)

    return go


def parked(page: Page, shop: Shop) -> None:
    begin(shop, "Q-1064", "B10", "P-14", "B")
    laid_out(
        shop,
        "it = now('Q-1064')\n"
        "parked = door.StepHanded(it.id, '', 'My shift ends')\n"
        "it.open.parked or door.record(act('P-14', 'B', at), parked)",
    )
    to_body("Q-1064")(page, shop)
    expect(page.get_by_role("button", name="Take it over")).to_be_visible()


def after_a_cut(more: str = "") -> Way:
    def go(page: Page, shop: Shop) -> None:
        begin(shop, "Q-1061", "J10", "P-16", "J")
        laid_out(shop, "door.record(act('P-01', '', at), door.CutOpen(now('Q-1061').id))")
        to_body("Q-1061", more)(page, shop)

    return go


def late_refused(page: Page, shop: Shop) -> None:
    """A day was entered that is still to come."""
    to_body("Q-1037", "/late/?only=I10")(page, shop)
    page.get_by_text("Another time").click()
    page.get_by_label("Day and time").fill("2999-01-01T10:00")
    page.get_by_text("I forgot to scan").click()
    page.get_by_role("button", name="Done: record I10 late").click()
    expect(page.get_by_role("alert")).to_contain_text("still to come")


def with_trainer(page: Page, shop: Shop) -> None:
    ask(page, shop, "/beside/", badge="P-11", pin="1111")
    to_body("Q-1044")(page, shop)
    expect(page.get_by_text("P-11 beside you")).to_be_visible()


def frozen(page: Page, shop: Shop) -> None:
    laid_out(
        shop,
        "it = now('Q-1044')\n"
        "stop = door.Frozen(it.id, 'Look at the heel')\n"
        "it.frozen or door.record(act('P-01', '', at), stop)",
    )
    to_body("Q-1044")(page, shop)
    expect(page.get_by_role("button", name="Call the lead")).to_be_visible()


def ask(page: Page, shop: Shop, path: str, keep_session: bool = True, **fields: str) -> None:
    """Post a form of the shop beside the page, with the session of its browser."""
    request = page.context.request
    held = page.context.cookies()
    token = next(one["value"] for one in held if one["name"] == "csrftoken")
    request.post(
        path,
        form={"csrfmiddlewaretoken": token, "key": str(uuid.uuid4()), **fields},
        headers={"Referer": shop.address + path},
        max_redirects=0,
    )
    if not keep_session:
        page.context.add_cookies([one for one in held if one["name"] == "sessionid"])  # type: ignore[misc]


DONE: set[tuple[Path, str]] = set()


def once(shop: Shop, code: str) -> None:
    """Have the shop's own doors do what several screens stand on; for the first of them."""
    if (shop.data, code) not in DONE:
        shop.manage("shell", "--no-imports", "-c", code)
        DONE.add((shop.data, code))


def afternoon(path: str) -> Way:
    """Once something of each kind waits for the lead."""

    def go(page: Page, shop: Shop) -> None:
        once(
            shop,
            "from django.utils import timezone\n"
            "from tests.desk import afternoon\n"
            "afternoon.lay_out(timezone.localtime())",
        )
        page.goto(path)

    return go


def charted(path: str) -> Way:
    """Once two dozen instruments were measured."""

    def go(page: Page, shop: Shop) -> None:
        said = "from tests.floor import many_readings\nmany_readings.lay_out()"
        once(shop, said)
        page.goto(path)

    return go


def shipped(path: str) -> Way:
    """Once one stands on the dock and another is gone."""

    def go(page: Page, shop: Shop) -> None:
        said = (
            "from django.utils import timezone\n"
            "from tests.floor import shipping\n"
            "shipping.lay_out(timezone.localtime())"
        )
        once(shop, said)
        page.goto(path)

    return go


def shipped_body(serial: str, more: str) -> Way:
    """The page of one of these."""

    def go(page: Page, shop: Shop) -> None:
        shipped("/scan/")(page, shop)
        page.goto(f"/{books.body_tag(shop, serial)}{more}")

    return go


def struck_surely(page: Page, shop: Shop) -> None:
    """The page that asks once more."""
    page.goto("/settle/Q-1043/strike/")
    page.get_by_label("N30").check()
    page.get_by_label("It was not done").check()
    page.get_by_role("button", name="Strike it").click()
    expect(page.get_by_text("This cannot be undone")).to_be_visible()


def freed_unsaid(page: Page, shop: Shop) -> None:
    afternoon("/settle/Q-1049/free/")(page, shop)
    page.get_by_role("button", name="Free it").click()
    expect(page.get_by_text("Tap why, or write another reason.")).to_be_visible()


def scanned_to_print(page: Page, shop: Shop) -> None:
    page.goto("/paper/scanned/")
    for serial in ("Q-1043", "Q-1055"):
        type_code(page, books.body_tag(shop, serial))
        expect(page.get_by_role("listitem").filter(has_text=serial)).to_be_visible()


def scanned_void_to_print(page: Page, shop: Shop) -> None:
    code = books.body_tag(shop, "Q-1065")
    ask(page, shop, "/release/Q-1065/tag/", reason="lost", mark="Q-1065")
    page.goto("/paper/scanned/?form=body_tag&serial=Q-1043")
    type_code(page, code)
    expect(page.get_by_role("alert")).to_contain_text("is void")


def print_looked_at(asked: str) -> Way:
    def go(page: Page, shop: Shop) -> None:
        look_at(page, asked)

    return go


def look_at(page: Page, asked: str) -> None:
    """The last look, with its picture; the page does not wait for it to be drawn."""
    page.goto(f"/paper/look/?{asked}", wait_until="domcontentloaded")
    picture_is_there(page)


def picture_is_there(page: Page) -> None:
    page.wait_for_function(
        "() => document.querySelector('.print-picture')?.naturalWidth > 0", timeout=60_000
    )


def many_to_a_sheet(page: Page, shop: Shop) -> None:
    print_looked_at("form=body_tag&serial=Q-1043&serial=Q-1055")(page, shop)
    page.get_by_text("Printer and paper").click()
    page.get_by_text("8 on a sheet of A4").click()
    page.get_by_text("5", exact=True).click()
    expect(page.get_by_role("status")).to_contain_text("1 sheet of A4")
    expect(page.get_by_role("status")).to_contain_text("from place 5")


def print_now(page: Page, shop: Shop, form: str, *names: str) -> None:
    """Print without a look; the newest job is this one."""
    ask(page, shop, "/paper/print/", form=form, names="\n".join(names))


def newest_job(shop: Shop) -> int:
    ((number,),) = shop.rows("SELECT MAX(id) FROM paper_job")
    assert isinstance(number, int), "nothing was printed"
    return number


def printed_before(page: Page, shop: Shop) -> None:
    print_now(page, shop, "body_tag", "Q-1063")
    look_at(page, "form=body_tag&serial=Q-1063")
    expect(page.get_by_text("Why again?")).to_be_visible()


def printed_again_unsaid(page: Page, shop: Shop) -> None:
    print_now(page, shop, "body_tag", "Q-1062")
    look_at(page, "form=body_tag&serial=Q-1062")
    page.get_by_role("button", name="Print", exact=True).click()
    expect(page.get_by_text("Say why it is printed again")).to_be_visible()
    picture_is_there(page)


def print_done(page: Page, shop: Shop) -> None:
    print_now(page, shop, "traveller", "Q-1043", "Q-1058")
    page.goto(f"/paper/jobs/{newest_job(shop)}/")
    expect(page.get_by_role("link", name="Open the PDF")).to_be_visible()


def print_with_refusals(page: Page, shop: Shop) -> None:
    print_now(page, shop, "neck_tag", "Q-1058", "Q-1050", "Q-9999")
    page.goto(f"/paper/jobs/{newest_job(shop)}/")
    expect(page.get_by_text("2 not printed")).to_be_visible()


JOB = """
import uuid
from django.utils import timezone
from shop.paper.models import Job
from shop.people.models import Badge
now = timezone.now()
serials = [f"Q-{{number}}" for number in range(2000, 2200)]
badge = Badge.objects.get(code="P-41")
one = Job.objects.create(
    key=uuid.uuid4(), form="traveller", names=serials, sheet="single", edge="long",
    asked_by=badge, badge="P-41", asked_at=now, beat_at=now, state="{state}", drawn=37,
    stop_asked={stop},
)
print(one.pk)
"""


def print_under_way(page: Page, shop: Shop) -> None:
    """A job as it stands while the press is at it, for as long as it is looked at."""
    number = shop.manage("shell", "--no-imports", "-c", JOB.format(state="drawing", stop=False))
    page.goto(f"/paper/jobs/{number.strip()}/")
    expect(page.get_by_text("37 of 200 drawn")).to_be_visible()


def print_stopped(page: Page, shop: Shop) -> None:
    number = shop.manage("shell", "--no-imports", "-c", JOB.format(state="stopped", stop=True))
    page.goto(f"/paper/jobs/{number.strip()}/")
    expect(page.get_by_role("button", name="Go on")).to_be_visible()


def printed_this_week(page: Page, shop: Shop) -> None:
    print_now(page, shop, "traveller", "Q-1061")
    print_now(page, shop, "as_built", "Q-1043")
    page.goto("/paper/jobs/")
    expect(page.get_by_role("link", name="Traveller Q-1061").first).to_be_visible()


def printer_added(name: str, then: str = "") -> Way:
    def go(page: Page, shop: Shop) -> None:
        page.goto("/paper/printers/")
        page.get_by_role("textbox").fill(name)
        page.get_by_role("button", name="Add it").click()
        expect(page.get_by_role("heading", level=1)).to_contain_text(name)
        if then:
            page.goto(then)

    return go


def printer_misread(page: Page, shop: Shop) -> None:
    printer_added("The long printer by the loading door")(page, shop)
    page.get_by_label("Front: left edge").fill("two")
    page.get_by_role("button", name="Keep it").click()
    expect(page.locator(".finding-stop")).to_be_visible()


def panels_seeded(path: str) -> Way:
    """Once one set of seeded panels was called by both and another by nobody."""

    def go(page: Page, shop: Shop) -> None:
        said = (
            "from django.utils.timezone import now\n"
            "from tests.floor import seeded\n"
            "seeded.lay_out(now())"
        )
        once(shop, said)
        page.goto(path)

    return go


def area_left_open(page: Page, shop: Shop) -> None:
    """A defect is tapped that nobody has noted: it is said, and the answers are still there."""
    to_body("Q-1037", "/look/7/")(page, shop)
    for item in page.locator("fieldset.item").all():
        item.locator(".tap").first.click()
    page.locator("fieldset.item").nth(1).locator(".tap").nth(1).click()
    page.get_by_role("button", name="As tapped").click()
    page.locator("[role=alert]").first.wait_for()


def area_seen_twice(page: Page, shop: Shop) -> None:
    """A defect of one area of Q-1037 is seen in another one too: it is offered there."""
    once(
        shop,
        AT_THE_DOORS + "from shop.craft.inspecting.areas import areas_of\n"
        "it = now('Q-1037')\n"
        "noted = door.DefectNoted(it.id, 'finish', 'swirl', 4, 6, found_at='I10')\n"
        "door.record(act('P-31', 'I', at), noted)\n"
        "(top,) = (one for one in areas_of(it.sheet.spec) if one.number == 7)\n"
        "said = {one.key: 'ok' for one in top.items} | {'top.marks': 'defect'}\n"
        "door.record(act('P-31', 'I', at), door.AreaLooked(it.id, 'I10', 7, said))\n",
    )
    to_body("Q-1037", "/look/9/")(page, shop)
    for item in page.locator("fieldset.item").all():
        item.locator(".tap").first.click()
    page.locator("fieldset.item").first.locator(".tap").nth(1).click()
    page.get_by_role("button", name="It is this one").first.wait_for()


def scanned_at_slot(slot: str, serial: str) -> Way:
    """The tag of an instrument was scanned on the page of a slot."""

    def go(page: Page, shop: Shop) -> None:
        page.goto(f"/rack/{slot}/?code={books.body_tag(shop, serial)}")

    return go


def defects_noted(more: str) -> Way:
    """Q-1058 with two defects that nobody has decided and one that is accepted, or on a page of
    the worst of them, where ``more`` has its number as {}."""

    def go(page: Page, shop: Shop) -> None:
        once(
            shop,
            AT_THE_DOORS + "from decimal import Decimal\n"
            "it = now('Q-1058')\n"
            "def note(*said, **more):\n"
            "    deed = door.DefectNoted(it.id, *said, **more)\n"
            "    return door.record(act('P-31', 'I', at), deed).seq\n"
            "tapped = dict(view='front', x_mm=Decimal(60), y_mm=Decimal(90))\n"
            "note('finish', 'chip', 2, 6, **tapped, words='As long as a nail')\n"
            "note('finish', 'swirl', 3, 10, view='back')\n"
            "last = note('wood', 'runout', 4)\n"
            "deed = door.DefectDecided(it.id, last, 'accept as is')\n"
            "door.record(act('P-31', 'I', at, reason='Grown in the wood'), deed)\n",
        )
        ((number,),) = shop.rows(
            "SELECT number FROM floor_defect WHERE word = %s ORDER BY number LIMIT 1", "chip"
        )
        to_body("Q-1058", more.format(number))(page, shop)

    return go


def at_the_repairer(page: Page, shop: Shop) -> None:
    """The repairer's list with a chip in it."""
    at_repair("")(page, shop)
    page.goto("/repairs/")
    expect(page.get_by_text("Finish chip").first).to_be_visible()
