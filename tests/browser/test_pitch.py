"""The pitch of plucked strings, heard by the phone's own script.

The strings are made as K. Karplus and A. Strong describe (Digital Synthesis of Plucked-String and
Drum Timbres, Computer Music Journal 7(2), 1983, 43-55): a burst of noise goes round in a delay
and is averaged with its neighbour each time. The averager delays by half a sample, and an
all-pass by whatever is left to the wanted period, as D. A. Jaffe and J. O. Smith have it
(Extensions of the Karplus-Strong Plucked-String Algorithm, Computer Music Journal 7(2), 1983,
56-69); so the fundamental is known exactly.
"""

from __future__ import annotations

import base64
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.shop import Shop

# B. H. Suits, Michigan Technological University, Physics of Music: Notes (A4 = 440 Hz).
OPEN_HZ = {"E2": 82.41, "A2": 110.00, "D3": 146.83, "G3": 196.00, "B3": 246.94, "E4": 329.63}
RATE = 48_000
BLOCK = 8192
# Of the two values that the shop's page tells as sure and as not sure.
SURE, UNSURE = 0.9, 0.75

Samples = NDArray[np.float64]

HEAR = """async ([blocks, rate]) => {
  const { pitch } = await import("/static/bench/pitch.js");
  return blocks.map((text) => {
    const bytes = Uint8Array.from(atob(text), (one) => one.charCodeAt(0));
    return pitch(new Float32Array(bytes.buffer), rate);
  });
}"""


def plucked(
    hz: float, seed: int, rate: int = RATE, hiss: float = 0.003, at_s: float = 0.1
) -> Samples:
    """A block of a plucked string's sound, so many seconds after the pluck; ``hiss`` is noise
    against a string of 0.2 (root mean square)."""
    chance = np.random.default_rng(seed)
    whole = int(rate / hz - 0.5 - 0.2)
    rest = rate / hz - 0.5 - whole
    turn = 2 * math.pi * hz / rate
    # Jaffe and Smith: the coefficient whose phase delay at the fundamental is the rest.
    pole = math.sin((1 - rest) * turn / 2) / math.sin((1 + rest) * turn / 2)
    line = chance.uniform(-1, 1, whole)
    begin = int(at_s * rate)
    sound = np.empty(begin + BLOCK)
    before = passed = out = 0.0
    for at in range(len(sound)):
        here = line[at % whole]
        sound[at] = here
        mean, before = (here + before) / 2, here
        out, passed = pole * mean + passed - pole * out, mean
        line[at % whole] = out
    block = sound[begin:]
    return np.asarray(block * 0.2 / np.sqrt(np.mean(block**2)) + chance.normal(0, hiss, BLOCK))


@pytest.fixture(scope="module")
def ear(shop: Shop, browser: Any) -> Callable[..., list[tuple[float, float]]]:
    """``ear(blocks, rate)``: what the script hears in each, as Hz and confidence."""
    page = browser.new_page(base_url=shop.address)
    page.goto("/aside/")

    def hear(blocks: list[Samples], rate: int = RATE) -> list[tuple[float, float]]:
        sent = [base64.b64encode(one.astype("<f4").tobytes()).decode() for one in blocks]
        return [(one["hz"], one["confidence"]) for one in page.evaluate(HEAR, [sent, rate])]

    return hear


def cents(hz: float, true_hz: float) -> float:
    return 1200 * math.log2(hz / true_hz)


Ear = Callable[..., list[tuple[float, float]]]


@pytest.mark.parametrize("times", [1, 2])
@pytest.mark.parametrize("name", OPEN_HZ)
def test_a_string_and_its_octave_are_heard_within_a_cent(ear: Ear, name: str, times: int) -> None:
    hz = OPEN_HZ[name] * times
    blocks = [plucked(hz, seed, hiss=hiss) for seed in range(3) for hiss in (0.002, 0.02)]
    heard = ear(blocks)
    assert max(abs(cents(one, hz)) for one, _ in heard) < 1
    assert min(sure for _, sure in heard) > SURE


@pytest.mark.parametrize("rate", [16_000, 44_100, 96_000])
def test_a_microphone_of_another_rate_hears_the_same(ear: Ear, rate: int) -> None:
    for hz in OPEN_HZ.values():
        ((heard, sure),) = ear([plucked(hz, 11, rate)], rate)
        assert abs(cents(heard, hz)) < 1
        assert sure > UNSURE


@pytest.mark.parametrize("by_cents", [-40, -3, 2, 55])
def test_a_string_that_is_out_of_tune_is_heard_as_it_is(ear: Ear, by_cents: int) -> None:
    true = [hz * 2 ** (by_cents / 1200) for hz in OPEN_HZ.values()]
    heard = ear([plucked(hz, 7) for hz in true])
    assert max(abs(cents(one, hz)) for (one, _), hz in zip(heard, true, strict=True)) < 1


def test_a_string_is_heard_at_the_pluck_and_when_it_is_nearly_gone(ear: Ear) -> None:
    for hz in OPEN_HZ.values():
        heard = ear([plucked(hz, 3, at_s=at_s) for at_s in (0.0, 1.5)])
        assert max(abs(cents(one, hz)) for one, _ in heard) < 1


@pytest.mark.parametrize("weak", [1.0, 0.1, 0.03])
@pytest.mark.parametrize("where", [0.5, 0.2, 0.13])
def test_the_octave_is_not_mistaken_where_the_fundamental_is_weak(
    ear: Ear, weak: float, where: float
) -> None:
    """The microphone of a phone hardly hears 82 Hz; plucked at ``where`` of its length, a string
    lacks partials (the ideal plucked string: partial n goes by sin(nπ·where) / n)."""
    moments = np.arange(BLOCK) / RATE
    chance = np.random.default_rng(5)
    for hz in OPEN_HZ.values():
        tone = sum(
            (weak if n == 1 else 1)
            * math.sin(n * math.pi * where)
            / n
            * np.sin(2 * math.pi * n * hz * moments + chance.uniform(0, 6))
            * np.exp(-1.5 * n * moments)
            for n in range(1, 20)
        )
        ((heard, sure),) = ear([0.2 * np.asarray(tone) + chance.normal(0, 0.004, BLOCK)])
        assert abs(cents(heard, hz)) < 1
        assert sure > UNSURE


def test_the_hum_of_the_mains_beside_a_string_moves_it_less_than_a_cent(ear: Ear) -> None:
    hum = 0.05 * np.sin(2 * math.pi * 50 * np.arange(BLOCK) / RATE)
    for hz in OPEN_HZ.values():
        ((heard, _sure),) = ear([plucked(hz, 3) + hum])
        assert abs(cents(heard, hz)) < 1


def test_silence_is_not_heard_as_a_string(ear: Ear) -> None:
    chance = np.random.default_rng(1)
    blocks = [np.zeros(BLOCK), np.full(BLOCK, 0.3), chance.normal(0, 2e-5, BLOCK)]
    assert [sure for _, sure in ear(blocks)] == [0, 0, 0]


def test_noise_is_told_by_its_confidence(ear: Ear) -> None:
    chance = np.random.default_rng(2)
    white = [chance.normal(0, 0.1, BLOCK) for _ in range(20)]
    brown = [np.cumsum(chance.normal(0, 0.01, BLOCK)) for _ in range(20)]
    assert max(sure for _, sure in ear(white + brown)) < UNSURE / 2


def test_two_strings_at_once_are_not_taken_for_one(ear: Ear) -> None:
    both = plucked(OPEN_HZ["A2"], 1) + plucked(OPEN_HZ["D3"], 2)
    ((_hz, sure),) = ear([both])
    assert sure < SURE


# --- the page ---

# Instead of the microphone: a string that never stops, a hair sharp.
STRING = """(hz) => { navigator.mediaDevices.getUserMedia = async (asked) => {
  window.asked = asked;
  const context = new AudioContext();
  const to = context.createMediaStreamDestination();
  const wave = context.createPeriodicWave([0, 0, 0, 0, 0], [0, 1, .6, .4, .2]);
  const from = new OscillatorNode(context, { type: "custom", periodicWave: wave, frequency: hz });
  from.connect(to);
  from.start();
  window.tune = (other) => from.frequency.setValueAtTime(other, 0);
  return (window.stream = to.stream);
}; }"""
REFUSED = """(name) => { navigator.mediaDevices.getUserMedia = async () => {
  throw new DOMException("no", name);
}; }"""
FORM = """() => document.querySelector("[data-pitch-typed]").insertAdjacentHTML("beforeend",
  '<input name="open_6"><input name="octave_6"><input name="octave_off 6">')"""


@pytest.fixture
def listening(phone: Page) -> Page:
    """The page with a low E a hair sharp before the microphone: 82.60 Hz, 4.1 cents."""
    phone.goto("/pitch/")
    phone.evaluate(STRING, 82.60)
    phone.evaluate(FORM)
    phone.get_by_role("button", name="Listen", exact=True).click()
    return phone


def told(page: Page) -> Any:
    return page.locator("[data-pitch] [role=status]")


def test_a_string_is_shown_with_its_note_its_cents_and_how_sure_it_is(listening: Page) -> None:
    expect(told(listening)).to_have_text("Sure")
    expect(listening.locator("[data-note]")).to_have_text("E2")
    expect(listening.locator("[data-cents]")).to_have_text("+4.1")
    expect(listening.locator("[data-hz]")).to_have_text("82.60")
    assert listening.locator("meter").evaluate("one => one.value") > SURE


def test_the_microphone_is_asked_for_plainly_and_given_back(listening: Page) -> None:
    """W3C, Media Capture and Streams: what makes speech clearer is switched off."""
    expect(told(listening)).to_have_text("Sure")
    assert listening.evaluate("asked") == {
        "audio": {"echoCancellation": False, "noiseSuppression": False, "autoGainControl": False}
    }
    listening.get_by_role("button", name="Stop listening").click()
    assert listening.evaluate("stream.getTracks().map((one) => one.readyState)") == ["ended"]
    expect(listening.get_by_role("button", name="Listen", exact=True)).to_be_visible()


def test_what_is_kept_goes_into_the_fields_that_ask_for_it(listening: Page) -> None:
    expect(told(listening)).to_have_text("Sure")
    expect(listening.locator("[data-cents]")).to_have_text("+4.1")
    listening.get_by_role("button", name="Keep this value").click()
    expect(listening.get_by_role("button", name="pressed at fret 12")).to_have_attribute(
        "aria-pressed", "true"
    )
    # What still rings is not taken for the note at fret 12.
    expect(told(listening)).to_have_text("Kept. Mute the string, then pluck the next.")
    expect(listening.get_by_role("button", name="Keep this value")).to_be_hidden()
    listening.evaluate("tune(2 * 82.70)")
    expect(listening.locator("[data-cents]")).to_have_text("+6.1")
    listening.get_by_role("button", name="Keep this value").click()
    fields = listening.locator("[name=open_6], [name=octave_6], [name='octave_off 6']")
    assert fields.evaluate_all("all => all.map((one) => one.value)") == ["4.1", "6.1", "2.1"]
    expect(listening.locator("[data-kept] li")).to_have_text(
        [
            "String 6, open, or its harmonic at 12: +4.1 cents",
            "String 6, pressed at fret 12: +6.1 cents",
            "String 6, the octave against the open string: +2.1 cents",
        ]
    )
    # The next string is due.
    expect(listening.get_by_role("button", name="5 A2")).to_have_attribute("aria-pressed", "true")


def test_another_string_than_the_chosen_one_is_named_and_not_kept(listening: Page) -> None:
    expect(told(listening)).to_have_text("Sure")
    listening.get_by_role("button", name="5 A2").click()
    expect(told(listening)).to_have_text("That was E2, not A2. Choose the string that you pluck.")
    expect(listening.get_by_role("button", name="Keep this value")).to_be_hidden()


def test_a_harmonic_counts_like_the_open_string_and_an_open_string_not_like_fret_12(
    listening: Page,
) -> None:
    listening.evaluate("tune(2 * 82.60)")
    expect(listening.locator("[data-note]")).to_have_text("E3")
    expect(listening.locator("[data-cents]")).to_have_text("+4.1")
    listening.evaluate("tune(82.60)")
    listening.get_by_role("button", name="pressed at fret 12").click()
    expect(told(listening)).to_have_text("That was E2, not E3. Choose the string that you pluck.")


@pytest.mark.parametrize(
    ("name", "words"),
    [("NotAllowedError", "not allowed to use it"), ("NotFoundError", "No microphone")],
)
def test_without_a_microphone_the_page_says_why_and_the_pitch_is_typed(
    phone: Page, name: str, words: str
) -> None:
    phone.goto("/pitch/")
    phone.evaluate(REFUSED, name)
    phone.get_by_role("button", name="Listen", exact=True).click()
    expect(told(phone)).to_contain_text(words)
    expect(told(phone)).to_contain_text("ype the pitch.")
    phone.get_by_label("Heard, Hz").fill("82,6")
    phone.get_by_role("button", name="Reckon the cents").click()
    answer = phone.locator("[data-answer]")
    expect(answer).to_have_text("82.6 Hz is 4.1 cents above E2, which is 82.41 Hz.")


@pytest.mark.parametrize("typed", ["5", "39,9", "1401"])
def test_a_typed_pitch_that_no_string_has_is_told_by_the_script_too(
    phone: Page, typed: str
) -> None:
    phone.goto("/pitch/")
    phone.get_by_label("Heard, Hz").fill(typed)
    phone.get_by_role("button", name="Reckon the cents").click()
    answer = phone.locator("[data-answer]")
    expect(answer).to_have_text("No string sounds there: 40 to 1400 Hz can be.")
    assert "?" not in phone.url


def test_an_address_without_https_gets_its_sentence(phone: Page) -> None:
    """W3C, Secure Contexts: a microphone is given to those alone."""
    phone.add_init_script("Object.defineProperty(window, 'isSecureContext', { get: () => false })")
    phone.goto("/pitch/")
    expect(told(phone)).to_contain_text("The microphone needs an address that starts with https.")
    expect(phone.get_by_role("button", name="Listen", exact=True)).to_be_hidden()


def test_without_script_the_pitch_is_typed(
    shop: Shop, context_of: Callable[..., BrowserContext]
) -> None:
    plain = context_of(java_script_enabled=False).new_page()
    plain.goto("/pitch/")
    expect(plain.get_by_text("Listen to a string")).to_be_hidden()
    plain.get_by_label("String", exact=True).select_option("5")
    plain.get_by_label("Fret").select_option("12")
    plain.get_by_label("Heard, Hz").fill("220.3")
    plain.get_by_role("button", name="Reckon the cents").click()
    answer = plain.locator("[data-answer]")
    expect(answer).to_have_text("220.3 Hz is 2.4 cents above A3, which is 220.00 Hz.")


def test_the_page_is_there_without_the_network(
    shop: Shop, context_of: Callable[..., BrowserContext]
) -> None:
    away = context_of().new_page()
    away.goto("/pitch/")
    away.evaluate("navigator.serviceWorker.ready.then(() => undefined)")
    away.wait_for_function(
        "async () => Boolean(await caches.match('/pitch/', { ignoreVary: true }))"
    )
    away.context.set_offline(True)
    away.reload()
    expect(away.get_by_role("button", name="Listen", exact=True)).to_be_visible()
    away.get_by_label("Heard, Hz").fill("82.41")
    away.get_by_role("button", name="Reckon the cents").click()
    expect(away.locator("[data-answer]")).to_contain_text("above E2")


def test_the_page_that_listens_meets_the_guidelines(
    listening: Page, audit: Callable[[Page], None]
) -> None:
    """WCAG 2.2 A and AA (W3C, 2023) as axe-core reads them."""
    expect(told(listening)).to_have_text("Sure")
    listening.evaluate("document.querySelectorAll('[name^=o]').forEach((one) => one.remove())")
    audit(listening)
