"""What is tapped is kept on the phone first, and counted once, whatever the network does.

The key of each act is that of the draft-ietf-httpapi-idempotency-key-header-07 of the IETF's
HTTPAPI working group; its sections stand beside the checks. What is not named there is common
practice, no source.
"""

from __future__ import annotations

import json
import random
import re
import uuid
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Error, Page, Request, Route, expect

from tests.browser import books
from tests.browser.conftest import breaches, hand_over
from tests.browser.outage import Outage, fragile
from tests.browser.shop import Furnished, Shop
from tests.browser.ways import ask

NEW = Callable[..., BrowserContext]

# Q-1040 lies in its case: that it moved to another rack can be told any number of times.
CASED = "Q-1040"
CASER = ("P-32", "3232")
JOINER = ("P-16", "1616")
WITHIN_MS = 60_000

# Over plain http a browser has no locks between its tabs.
NO_LOCKS = "Object.defineProperty(Navigator.prototype, 'locks', {get: () => undefined});"
NO_STORE = "IDBFactory.prototype.open = () => { throw new DOMException('', 'SecurityError'); };"
FIVE_HOURS_AHEAD = """
const Right = Date, hours = 5 * 3600e3;
globalThis.Date = class extends Right {
  constructor(...of) { of.length ? super(...of) : super(Right.now() + hours); }
  static now() { return Right.now() + hours; }
};
"""
# How long from the tap until the words of the keeping are on the page.
STOPWATCH = """
addEventListener("click", () => {
  const from = performance.now();
  const said = () => document.querySelector("[data-kept-said]").textContent
    ? (window.took = performance.now() - from) : requestAnimationFrame(said);
  said();
}, true);
"""


@pytest.fixture
def faults() -> Iterator[list[str]]:
    """Errors of the pages' own scripts: a lost network is none."""
    found: list[str] = []
    yield found
    assert found == []


@pytest.fixture
def carried(context_of: NEW, faults: list[str]) -> Page:
    """A phone that may lose its network."""
    return opened_on(context_of(has_touch=True, is_mobile=True), faults)


def opened_on(context: BrowserContext, faults: list[str]) -> Page:
    page = context.new_page()
    page.on("pageerror", lambda error: faults.append(error.stack or str(error)))
    return page


def module(shop: Shop, name: str) -> str:
    """The address of a module, as the pages import it."""
    known = json.loads((shop.data / "static" / "staticfiles.json").read_text())["paths"]
    return f"/static/{known[name]}"


def waiting(page: Page, shop: Shop) -> list[dict[str, Any]]:
    """What is kept on the phone, in the order of the taps."""
    found: list[dict[str, Any]] = page.evaluate(
        "async (store) => (await import(store)).acts()", module(shop, "phone/store.js")
    )
    return found


def keep(page: Page, shop: Shop, *acts: dict[str, Any]) -> None:
    """Put acts into the phone's store as the outbox does."""
    page.evaluate(
        """async ([store, acts]) => {
            const {add} = await import(store);
            for (const act of acts) await add(({who, offset}) => ({
                ...act, badge: who.badge, proof: who.proof, station: who.station, offset,
                captured: new Date().toISOString(),
                state: "waiting", why: [], tries: 0, first: null,
            }));
        }""",
        [module(shop, "phone/store.js"), list(acts)],
    )


def act(url: str, serial: str, says: str, **fields: str) -> dict[str, Any]:
    """An act on an instrument, as it lies in the phone's store."""
    key = str(uuid.uuid4())
    sent = [["key", key], ["clock", datetime.now(UTC).isoformat()], *map(list, fields.items())]
    about = url.split("/")[1]
    return {"key": key, "url": url, "about": about, "serial": serial, "says": says, "fields": sent}


def send(page: Page, shop: Shop) -> None:
    """Have the phone try now, and wait until it has."""
    page.evaluate(
        "async (sender) => (await import(sender)).flush(true)", module(shop, "phone/sender.js")
    )


def sent(page: Page, shop: Shop) -> None:
    """Wait until nothing waits any more."""
    for _ in range(WITHIN_MS // 100):
        try:
            if not waiting(page, shop):
                return
        except Error:  # the page goes on to another one just now
            page.wait_for_load_state()
        page.wait_for_timeout(100)
    raise AssertionError(f"still waits: {waiting(page, shop)}")


def known(page: Page, shop: Shop) -> None:
    """Wait until the phone has the proof of who is signed in."""
    for _ in range(WITHIN_MS // 100):
        who = page.evaluate(
            "async (store) => (await import(store)).get('who')", module(shop, "phone/store.js")
        )
        if who and who["proof"]:
            return
        page.wait_for_timeout(100)
    raise AssertionError("the shop was not asked who is signed in")


def rack(page: Page, shop: Shop) -> None:
    """The page on which one tap tells that the guitar moved to another rack."""
    page.goto(f"/{books.body_tag(shop, CASED)}/happened/?what=rack")
    known(page, shop)


def tap(page: Page) -> None:
    page.get_by_role("button", name="Yes, note it").click()


def kept_words(page: Page) -> Any:
    return expect(page.locator("main .finding-wait").last)


def moves(shop: Shop) -> list[tuple[Any, ...]]:
    """How often it was told that the guitar moved, the oldest first: who, sent by, doubt."""
    return shop.rows(
        "SELECT who, sent_by, unproven FROM floor_entry"
        " WHERE subject = %s AND kind = 'happened' ORDER BY id",
        CASED,
    )


def posts(page: Page) -> list[Request]:
    """The acts a page sends, from now on."""
    found: list[Request] = []
    page.on("request", lambda one: found.append(one) if "idempotency-key" in one.headers else None)
    return found


def lose(page: Page, where: str) -> list[str]:
    """Let the first act reach the shop, and lose the answer on its way back. Returns what
    the shop said to each, lost or not."""
    said: list[str] = []

    def handle(route: Route) -> None:
        if "idempotency-key" not in route.request.headers:
            route.continue_()
            return
        answer = route.fetch()
        said.append(answer.headers.get("x-outcome", ""))
        if len(said) == 1:
            route.abort("connectionreset")
        else:
            route.fulfill(response=answer)

    page.route(where, handle)
    return said


# --- with the network ---


def test_a_tap_with_the_network_is_kept_sent_and_answered_on_its_page(
    phone: Page, shop: Shop
) -> None:
    """The draft, 2.1: the key is a string of RFC 8941, in quotation marks; 2.2: a UUID."""
    hand_over(phone, shop, *JOINER)
    phone.goto(f"/{books.body_tag(shop, 'Q-1050')}")
    known(phone, shop)
    before = len(books.journal(shop, "Q-1050"))
    heard = posts(phone)
    phone.get_by_role("button", name="Start J20").click()
    expect(phone.get_by_role("status").filter(has_text="J20 is begun.")).to_be_visible()
    sent(phone, shop)
    rows = books.journal(shop, "Q-1050")[before:]
    assert rows == [("start", "recorded", "P-16", "J")]
    assert len(heard) == 1
    header = heard[0].headers["idempotency-key"]
    assert header == f'"{uuid.UUID(header.strip(chr(34)))}"'
    expect(phone.locator("[data-unsent]")).to_be_hidden()


def test_a_tap_on_a_plain_form_goes_on_to_the_page_after_it(phone: Page, shop: Shop) -> None:
    hand_over(phone, shop, *CASER)
    before = len(moves(shop))
    rack(phone, shop)
    tap(phone)
    expect(phone.get_by_role("status").filter(has_text="Recorded.")).to_be_visible()
    assert [row[0] for row in moves(shop)[before:]] == ["P-32"]
    sent(phone, shop)


def test_two_taps_on_one_button_are_one_act(phone: Page, shop: Shop) -> None:
    hand_over(phone, shop, *CASER)
    before = len(moves(shop))
    rack(phone, shop)
    heard = posts(phone)
    phone.get_by_role("button", name="Yes, note it").dblclick()
    expect(phone.get_by_role("status").filter(has_text="Recorded.")).to_be_visible()
    assert len(moves(shop)) == before + 1
    assert len(heard) == 1


def test_what_is_refused_on_the_spot_is_shown_by_its_own_page_and_does_not_wait(
    phone: Page, shop: Shop
) -> None:
    hand_over(phone, shop, "P-11", "1111")
    phone.goto(f"/{books.body_tag(shop, 'Q-1055')}/tray/")
    known(phone, shop)
    phone.get_by_label("Code printed beside the square").fill(books.tray_label(shop, "Q-1061"))
    phone.get_by_role("button", name="Look up").click()
    expect(phone.locator(".stop")).to_contain_text("is for Q-1061")
    sent(phone, shop)
    refused = [row for row in books.journal(shop, "Q-1055") if row[:2] == ("tray", "refused")]
    assert len(refused) == 1


# --- answers lost, the server lost ---


def test_an_answer_that_is_lost_is_asked_for_again_and_nothing_is_done_twice(
    carried: Page, shop: Shop
) -> None:
    """The draft, 2.6: a retry after the request completed gets the result of the first."""
    hand_over(carried, shop, *CASER)
    before = len(moves(shop))
    rack(carried, shop)
    said = lose(carried, "**/happened/**")
    tap(carried)
    carried.wait_for_url(f"**/{books.body_tag(shop, CASED)}")
    assert said == ["recorded", "already"]
    assert len(moves(shop)) == before + 1
    sent(carried, shop)


@pytest.fixture
def outage(furnished_shop: Furnished, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Outage]:
    with fragile(furnished_shop, tmp_path_factory.mktemp("fragile")) as one:
        yield one


@pytest.fixture
def far(outage: Outage, new_context: NEW, faults: list[str]) -> Page:
    """A phone of the shop that loses its server, signed in, on the page of one tap."""
    context = new_context(base_url=outage.shop.address, locale="en")
    page = opened_on(context, faults)
    page.add_init_script(STOPWATCH)
    hand_over(page, outage.shop, *CASER)
    rack(page, outage.shop)
    return page


def test_a_server_killed_between_commit_and_answer_has_the_act_once(
    far: Page, outage: Outage
) -> None:
    """The draft, 2.6: the result of the first is found again, by another process too."""
    shop, before = outage.shop, len(moves(outage.shop))

    def cut(route: Route) -> None:
        route.fetch()
        outage.kill()
        route.abort("connectionreset")

    far.route("**/happened/**", cut, times=1)
    tap(far)
    kept_words(far).to_contain_text("It is sent when the shop is reached.")
    assert len(moves(shop)) == before + 1
    assert len(waiting(far, shop)) == 1
    outage.restart()
    far.wait_for_url(f"**/{books.body_tag(shop, CASED)}", timeout=WITHIN_MS)
    sent(far, shop)
    assert len(moves(shop)) == before + 1


def test_a_frozen_server_keeps_nobody_from_going_on(far: Page, outage: Outage) -> None:
    shop, before = outage.shop, len(moves(outage.shop))
    outage.freeze()
    tap(far)
    expect(far.locator("[data-kept-said]")).to_have_text("Kept on this phone. Sending.")
    took = far.wait_for_function("window.took").json_value()  # told by the next frame
    print(f"kept and said {took:.0f} ms after the tap")  # noqa: T201 - told, not asserted
    kept_words(far).to_contain_text("It is sent when the shop is reached.", timeout=WITHIN_MS)
    expect(far.locator("[data-unsent]")).to_have_text("1 waits")
    outage.thaw()
    far.wait_for_url(f"**/{books.body_tag(shop, CASED)}**", timeout=WITHIN_MS)
    sent(far, shop)
    assert len(moves(shop)) == before + 1


# --- without the network ---


def test_a_tap_without_the_network_waits_and_says_so(carried: Page, shop: Shop) -> None:
    hand_over(carried, shop, *CASER)
    before = len(moves(shop))
    rack(carried, shop)
    carried.context.set_offline(True)
    tap(carried)
    words = "Kept on this phone: Moved to another rack. It is sent when the shop is reached."
    kept_words(carried).to_have_text(words)
    expect(carried.locator("[data-unsent]")).to_have_text("1 waits")
    frozen = carried.locator("form[data-outbox]").filter(has_text="Yes, note it")
    assert frozen.evaluate("one => one.inert") is True
    frozen.evaluate("one => one.requestSubmit()")
    assert len(waiting(carried, shop)) == 1
    assert breaches(carried) == []
    carried.context.set_offline(False)
    expect(carried.get_by_role("status").filter(has_text="Recorded.")).to_be_visible()
    assert len(moves(shop)) == before + 1


@pytest.mark.parametrize("script", ["", NO_LOCKS], ids=["locks", "plain http"])
def test_of_two_tabs_one_sends_and_both_tell(
    context_of: NEW, shop: Shop, faults: list[str], script: str
) -> None:
    context = context_of()
    context.add_init_script(script)
    first, second = opened_on(context, faults), opened_on(context, faults)
    hand_over(first, shop, *CASER)
    rack(first, shop)
    second.goto("/scan/")
    before = len(moves(shop))
    code = books.body_tag(shop, CASED)
    context.set_offline(True)
    path = f"/{code}/happened/"
    keep(first, shop, *(act(path, CASED, "Moved", what="rack") for _ in range(6)))
    tap(first)
    for page in (first, second):
        expect(page.locator("[data-unsent]")).to_have_text("7 wait")
    heard = [posts(first), posts(second)]
    context.set_offline(False)
    first.wait_for_url(f"**/{code}?after=**")
    sent(second, shop)
    expect(second.locator("[data-unsent]")).to_be_hidden()
    keys = [one.headers["idempotency-key"] for one in [*heard[0], *heard[1]]]
    assert len(set(keys)) == 7
    if not script:  # with locks one tab sends, and over plain http the shop tells twins apart
        # The page that goes on may leave in the middle of a sending: that one is sent again.
        assert len(keys) <= 8
    assert len(moves(shop)) == before + 7


def test_what_waits_is_counted_for_whoever_tapped_it(carried: Page, shop: Shop) -> None:
    hand_over(carried, shop, *CASER)
    before = len(moves(shop))
    rack(carried, shop)
    carried.context.set_offline(True)
    tap(carried)
    kept_words(carried).to_contain_text("Kept on this phone")
    carried.context.route("**/who/", lambda route: route.abort())
    carried.context.set_offline(False)
    carried.get_by_role("button", name="Sign out").click()
    expect(carried.locator("[data-waits]")).to_have_text("P-32: 1 act waits on this phone.")
    hand_over(carried, shop, "P-31", "3131")
    carried.context.unroute("**/who/")
    carried.goto("/scan/")
    sent(carried, shop)
    assert moves(shop)[before:] == [("P-32", "P-31", "")]


def test_what_waits_outlasts_the_session_and_is_sent_after_the_next_sign_in(
    carried: Page, shop: Shop
) -> None:
    hand_over(carried, shop, *CASER)
    before = len(moves(shop))
    rack(carried, shop)
    carried.context.clear_cookies(name="sessionid")
    tap(carried)
    kept_words(carried).to_contain_text("Sign in to send it.")
    pad = carried.locator("#lock")
    expect(pad.get_by_role("heading", name="Locked")).to_be_visible()
    assert len(moves(shop)) == before
    pad.get_by_role("button", name=CASER[0]).click()
    carried.locator("main #pin").fill(CASER[1])
    carried.get_by_role("button", name="Enter the PIN").click()
    carried.wait_for_url("**/happened/**")
    send(carried, shop)
    sent(carried, shop)
    assert moves(shop)[before:] == [("P-32", "", "")]


def test_a_tap_after_the_idle_time_brings_the_pad_and_the_pin_sends_it(
    carried: Page, shop: Shop
) -> None:
    hand_over(carried, shop, *CASER)
    before = len(moves(shop))
    rack(carried, shop)
    ask(carried, shop, "/sign-in/pad/")
    tap(carried)
    expect(carried.locator("#lock")).to_contain_text(f"Locked: badge {CASER[0]}")
    assert len(moves(shop)) == before
    enter(carried, *CASER)
    carried.wait_for_url(f"**/{books.body_tag(shop, CASED)}?after=**")
    sent(carried, shop)
    assert moves(shop)[before:] == [("P-32", "", "")]


def test_a_page_from_before_the_sign_in_sends_with_the_token_of_now(
    carried: Page, shop: Shop
) -> None:
    """Django, Cross Site Request Forgery protection: the token is a new one at each sign-in."""
    hand_over(carried, shop, *CASER)
    before = len(moves(shop))
    rack(carried, shop)
    stale = carried.evaluate("fetch('/who/').then(one => one.json())")
    carried.context.clear_cookies(name="csrftoken")
    hand_over(carried, shop, *CASER)
    # Asked right before the sign-in, and sent right after it.
    carried.route("**/who/", lambda route: route.fulfill(json=stale), times=1)
    heard: list[int] = []
    carried.on(
        "response",
        lambda one: heard.append(one.status) if "idempotency-key" in one.request.headers else None,
    )
    tap(carried)
    expect(carried.get_by_role("status").filter(has_text="Recorded.")).to_be_visible()
    assert heard == [403, 200]
    assert len(moves(shop)) == before + 1


def test_a_phone_hours_off_moves_no_moment(context_of: NEW, shop: Shop, faults: list[str]) -> None:
    context = context_of()
    context.add_init_script(FIVE_HOURS_AHEAD)
    page = opened_on(context, faults)
    hand_over(page, shop, *CASER)
    rack(page, shop)
    context.set_offline(True)
    tap(page)
    kept_words(page).to_contain_text("It is sent when")
    assert abs(waiting(page, shop)[0]["offset"] + 5 * 3_600_000) < 60_000
    context.set_offline(False)
    expect(page.get_by_role("status").filter(has_text="Recorded.")).to_be_visible()
    row = shop.rows(
        "SELECT at, claimed_at FROM floor_entry WHERE subject = %s ORDER BY id DESC LIMIT 1", CASED
    )[0]
    at, claimed = (datetime.fromisoformat(str(one)).replace(tzinfo=UTC) for one in row)
    assert abs(datetime.now(UTC) - at) < timedelta(minutes=1)
    assert timedelta(hours=4, minutes=59) < claimed - at < timedelta(hours=5, minutes=1)


def test_a_store_that_was_cleared_is_begun_anew(carried: Page, shop: Shop) -> None:
    hand_over(carried, shop, *CASER)
    before = len(moves(shop))
    rack(carried, shop)
    carried.evaluate(
        """() => new Promise((done, fail) => {
            const asked = indexedDB.deleteDatabase("heelcap");
            asked.onsuccess = done; asked.onerror = fail; asked.onblocked = fail;
        })"""
    )
    tap(carried)
    expect(carried.get_by_role("status").filter(has_text="Recorded.")).to_be_visible()
    assert len(moves(shop)) == before + 1
    carried.goto("/waiting/")
    expect(carried.get_by_text("Nothing waits.")).to_be_visible()


def test_where_nothing_can_be_kept_a_tap_goes_as_without_script(
    context_of: NEW, shop: Shop, faults: list[str]
) -> None:
    context = context_of()
    context.add_init_script(NO_STORE)
    page = opened_on(context, faults)
    hand_over(page, shop, *CASER)
    before = len(moves(shop))
    page.goto(f"/{books.body_tag(shop, CASED)}/happened/?what=rack")
    tap(page)
    expect(page.get_by_role("status").filter(has_text="Recorded.")).to_be_visible()
    assert len(moves(shop)) == before + 1


def test_under_the_pad_a_badge_is_proven_no_more(carried: Page, shop: Shop) -> None:
    hand_over(carried, shop, *CASER)
    rack(carried, shop)
    carried.context.set_offline(True)
    carried.evaluate("document.dispatchEvent(new CustomEvent('heelcap:locked'))")
    carried.wait_for_timeout(300)
    tap(carried)
    kept_words(carried).to_contain_text("Kept on this phone")
    assert [(one["badge"], one["proof"]) for one in waiting(carried, shop)] == [("P-32", "")]


def test_with_the_sign_out_the_phone_forgets_whose_it_was(carried: Page, shop: Shop) -> None:
    hand_over(carried, shop, *JOINER)
    carried.goto("/scan/")
    known(carried, shop)
    carried.get_by_role("button", name="Sign out").click()
    carried.wait_for_url("**/sign-in/")
    store = module(shop, "phone/store.js")
    carried.wait_for_function(
        "async (store) => !(await (await import(store)).get('who')).proof", arg=store
    )
    who = carried.evaluate("async (store) => (await import(store)).get('who')", store)
    assert (who["badge"], who["proof"]) == ("", "")


def test_whoever_signs_in_after_hours_is_not_locked_out_at_once(carried: Page, shop: Shop) -> None:
    """The page of what waits names nobody, so only the phone knows when it was touched last."""
    carried.goto("/sign-in/?badge=P-32&next=/waiting/")
    carried.evaluate("localStorage.setItem('heelcap touched', '1000')")
    carried.reload()
    carried.locator("main #pin").fill(CASER[1])
    carried.get_by_role("button", name="Enter the PIN").click()
    carried.wait_for_url("**/waiting/")
    carried.wait_for_timeout(2_500)  # it would be locked within a second or two
    expect(carried.locator("#lock")).to_be_empty()


def claim(page: Page, badge: str) -> None:
    """Without the network somebody goes on under a badge of this phone."""
    page.context.set_offline(True)
    page.locator("header [data-switch] b").click()
    page.locator("#lock").get_by_role("button", name=f"Go on as {badge}").click()
    expect(page.locator("#lock")).to_be_empty()


def enter(page: Page, badge: str, pin: str) -> None:
    """The shop is back and its pad lies over the page."""
    page.context.set_offline(False)
    pad = page.locator("#lock")
    expect(pad).to_contain_text(f"Locked: badge {badge}", timeout=WITHIN_MS)
    for digit in pin:
        pad.locator(f"[data-key='{digit}']").click()
    pad.get_by_role("button", name="Enter the PIN").click()


def test_a_badge_that_went_on_unseen_stays_unproven_though_it_signs_in_and_sends_it(
    carried: Page, shop: Shop
) -> None:
    hand_over(carried, shop, *CASER)
    before = len(moves(shop))
    rack(carried, shop)
    claim(carried, CASER[0])
    tap(carried)
    kept_words(carried).to_contain_text("It is sent when the shop is reached.")
    enter(carried, *CASER)
    carried.wait_for_url(f"**/{books.body_tag(shop, CASED)}**", timeout=WITHIN_MS)
    sent(carried, shop)
    ((who, _, unproven),) = moves(shop)[before:]
    assert who == CASER[0]
    assert unproven


def test_what_is_refused_to_a_claimed_badge_is_not_done_by_whoever_signs_in(
    carried: Page, shop: Shop
) -> None:
    hand_over(carried, shop, "P-41", "4141")
    hand_over(carried, shop, *JOINER)
    carried.goto(f"/{books.body_tag(shop, 'Q-1061')}")
    known(carried, shop)
    before = books.journal(shop, "Q-1061")
    claim(carried, "P-41")
    carried.get_by_role("button", name="Start J10").click()
    kept_words(carried).to_contain_text("It is sent when the shop is reached.")
    enter(carried, *JOINER)
    for _ in range(WITHIN_MS // 100):
        if [one["state"] for one in waiting(carried, shop)] == ["refused"]:
            break
        carried.wait_for_timeout(100)
    expect(carried.locator(".kept")).to_contain_text("Refused")
    assert books.journal(shop, "Q-1061") == before
    assert [(one["badge"], one["state"]) for one in waiting(carried, shop)] == [("P-41", "refused")]


def test_acts_that_cannot_be_answered_keep_nobody_else_waiting(carried: Page, shop: Shop) -> None:
    hand_over(carried, shop, *JOINER)
    carried.goto("/scan/")
    known(carried, shop)
    serials = ("Q-1043", "Q-1044", "Q-1049", "Q-1050")
    tags = {serial: books.body_tag(shop, serial) for serial in serials}
    calls = [
        act(f"/{tags[one]}/call/", one, "Call the lead", whom="lead", words="Stuck.")
        for one in serials
    ]
    lost = "|".join(tags[one] for one in serials[:3])
    broken = re.compile(rf"/({lost})/call/")
    carried.context.route(broken, lambda route: route.fulfill(status=500, body="broken"))
    keep(carried, shop, *calls)
    for _ in range(3):
        send(carried, shop)
    assert [one["serial"] for one in waiting(carried, shop)] == list(serials[:3])
    assert ("call", "recorded", "P-16", "J") in books.journal(shop, "Q-1050")
    carried.context.unroute(broken)
    send(carried, shop)
    sent(carried, shop)


# --- refused, and what a person does about it ---


def test_a_refusal_keeps_back_its_own_instrument_only(carried: Page, shop: Shop) -> None:
    hand_over(carried, shop, *JOINER)
    carried.goto("/scan/")
    known(carried, shop)
    one, other = books.body_tag(shop, "Q-1061"), books.body_tag(shop, "Q-1049")
    carried.context.set_offline(True)
    keep(
        carried,
        shop,
        act(f"/{one}/record/", "Q-1061", "Record Z90", operation="Z90"),
        act(f"/{one}/call/", "Q-1061", "Call the lead", whom="lead", words="Behind."),
        act(f"/{other}/call/", "Q-1049", "Call the lead", whom="lead", words="Beside."),
    )
    carried.context.set_offline(False)
    send(carried, shop)
    assert [row["state"] for row in waiting(carried, shop)] == ["refused", "waiting"]
    assert ("call", "recorded", "P-16", "J") in books.journal(shop, "Q-1049")
    expect(carried.locator("[data-wait]")).to_have_text("1 waits")
    expect(carried.locator("[data-refused]")).to_contain_text("1 refused")
    carried.locator("[data-unsent]").click()
    rows = carried.locator("[data-list] > ol").locator("> li")
    expect(rows).to_have_count(2)
    first, second = rows.nth(0), rows.nth(1)
    expect(first).to_contain_text("Refused")
    expect(first.locator("[data-why] li").first).not_to_be_empty()
    expect(first.get_by_role("link", name="Open Q-1061")).to_have_attribute("href", f"/{one}")
    expect(second).to_contain_text("Waits behind the one that was refused")
    assert breaches(carried) == []
    first.locator("summary").click()
    first.get_by_role("button", name="Yes, put it aside").click()
    expect(carried.locator("[data-list] > ol").locator("> li")).to_have_count(0)
    assert ("call", "recorded", "P-16", "J") in books.journal(shop, "Q-1061")
    assert [row["state"] for row in waiting(carried, shop)] == ["aside"]


def test_all_that_is_unsent_can_be_saved_as_a_file(carried: Page, shop: Shop) -> None:
    hand_over(carried, shop, *CASER)
    carried.goto("/scan/")
    known(carried, shop)
    carried.context.route("**/who/", lambda route: route.abort())
    carried.goto("/waiting/")
    carried.evaluate(
        """async (store) => (await import(store)).add(() => ({
            key: "k", url: "/X/posts/", about: "X", serial: "Q-1040", says: "Record the check",
            fields: [["key", "k"], ["photo", new File(["bark"], "back.jpg", {type: "image/jpeg"})]],
            badge: "P-32", proof: "secret", station: "", captured: new Date().toISOString(),
            offset: 0, state: "waiting", why: [], tries: 0, first: null}))""",
        module(shop, "phone/store.js"),
    )
    carried.reload()
    with carried.expect_download() as download:
        carried.get_by_role("button", name="Save all as a file").click()
    text = download.value.path().read_text()
    (saved,) = json.loads(text)
    # RFC 2397, data URLs; "bark" in base64 by RFC 4648.
    photo = {"name": "back.jpg", "data": "data:image/jpeg;base64,YmFyaw=="}
    assert saved["fields"] == [["key", "k"], ["photo", photo]]
    assert "secret" not in text


# --- everything at once ---


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_five_hundred_taps_over_a_bad_network_are_five_hundred_rows(
    context_of: NEW, shop: Shop, faults: list[str], seed: int
) -> None:
    """The draft, 2.6, at random: requests lost before and after they were done, answers that
    are none, slow ones. Each instrument's calls stand in the order they were tapped."""
    chance = random.Random(seed)
    page = opened_on(context_of(), faults)
    hand_over(page, shop, *JOINER)
    page.goto("/scan/")
    known(page, shop)
    serials = ["Q-1043", "Q-1044", "Q-1049", "Q-1050", "Q-1055", "Q-1058", "Q-1061"]
    codes = {serial: books.body_tag(shop, serial) for serial in serials}
    taps = [chance.choice(serials) for _ in range(500)]
    words = [f"seed {seed} tap {number}" for number in range(len(taps))]

    def flaky(route: Route) -> None:
        what = chance.random()
        if what < 0.03:
            route.abort("connectionfailed")
        elif what < 0.06:
            route.fetch()
            route.abort("connectionreset")
        elif what < 0.08:
            route.fulfill(status=500, body="")
        elif what < 0.10:
            route.fetch()
            route.fulfill(status=502, body="")
        else:
            if what > 0.98:
                page.wait_for_timeout(50)
            route.continue_()

    page.context.set_offline(True)
    for start in range(0, len(taps), 100):
        some = zip(taps[start : start + 100], words[start : start + 100], strict=True)
        keep(
            page,
            shop,
            *(
                act(f"/{codes[serial]}/call/", serial, "Call", whom="lead", words=said)
                for serial, said in some
            ),
        )
    page.route("**/call/", flaky)
    page.context.set_offline(False)
    for _ in range(200):
        send(page, shop)
        if not waiting(page, shop):
            break
        page.wait_for_timeout(20)
    assert waiting(page, shop) == []
    rows = shop.rows(
        "SELECT subject, data, outcome FROM floor_entry WHERE kind = 'call' ORDER BY id"
    )
    told = [
        (subject, (json.loads(data) if isinstance(data, str) else data)["words"])
        for subject, data, outcome in rows
        if outcome == "recorded"
    ]
    mine = [row for row in told if row[1].startswith(f"seed {seed} tap ")]
    assert len(mine) == len(taps)
    for serial in serials:
        tapped = [said for at, said in zip(taps, words, strict=True) if at == serial]
        assert [said for subject, said in mine if subject == serial] == tapped
