/**
 * The pitch of a plucked string by the phone's microphone. Nothing of it is kept or sent. The
 * period is where the sound is most like itself, and is read where it has gone by many times,
 * so that partials and noise move it little. Without microphone the pitch is typed.
 */

import { words } from "../phone/words.js";

const LOWEST_HZ = 70;
const HIGHEST_HZ = 700;
/** Partials above are damped: they hiss, and are stretched by the stiffness of the string. */
const SOFT_HZ = 4000;
/** At 48 kHz a sixth of a second: fourteen periods of the lowest string. */
const BLOCK = 8192;
const EVERY_MS = 120;
/** How many looks one value is the middle of. */
const LOOKS = 5;
/** Root mean square of what is as good as silent; 1 is the loudest there is. */
const SILENT = 1e-4;
/** The first peak nearly as high as the highest is the period, a later one a multiple of it. */
const NEARLY = 0.9;
const TENTHS = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9];
const SURE = 0.9;
const FAIR = 0.75;
/** Further off than this it was another note. */
const OTHER_CENTS = 60;
const NOTES = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"];

/** The mean of so many samples, at each. @param {Float64Array} samples @param {number} width */
function softened(samples, width) {
  let sum = 0;
  return samples.map((one, at) => (sum += one - (samples[at - width] ?? 0)) / width);
}

/**
 * @param {ArrayLike<number>} samples of the sound, 4096 or more @param {number} rate samples in a second
 * @returns {{ hz: number, confidence: number }} between 70 and 700 Hz; 0 Hz where nothing sounds.
 * Confidence is 1 where the sound repeats itself exactly, about 0 in noise.
 */
export function pitch(samples, rate) {
  const width = Math.max(1, Math.round(rate / SOFT_HZ));
  const soft = softened(softened(Float64Array.from(samples), width), width).subarray(2 * width);
  const mean = soft.reduce((sum, one) => sum + one, 0) / soft.length;
  const tone = soft.map((one) => one - mean);
  const power = tone.reduce((sum, one) => sum + one * one, 0) / tone.length;
  const half = Math.min(tone.length >> 1, Math.round(rate / 11));
  const none = { hz: 0, confidence: 0 };
  if (!(power > SILENT ** 2)) return none;

  /** @type {number[]} how like itself the sound is so many samples later, 1 for the same */
  const known = [];
  const alike = (/** @type {number} */ lag) => (known[lag] ??= likeness(tone, lag, half));
  const last = Math.min(Math.ceil(rate / LOWEST_HZ), half - 2);
  const peaks = [];
  for (let lag = Math.floor(rate / HIGHEST_HZ); lag <= last; lag++) {
    if (alike(lag) > 0 && alike(lag) >= alike(lag - 1) && alike(lag) > alike(lag + 1)) peaks.push(lag);
  }
  const best = Math.max(...peaks.map(alike));
  let top = peaks.find((lag) => alike(lag) >= NEARLY * best);
  if (!top) return none;
  // What repeats itself is unlike itself in between; what only drifts is not.
  const between = TENTHS.map((tenth) => alike(Math.round(/** @type {number} */ (top) * tenth)));
  const drift = Math.max(0, Math.min(...between));
  let confidence = 1;
  // Twice as many periods halve what one period is out by.
  for (let times = 1; ; times *= 2) {
    const [before, here, after] = [alike(top - 1), alike(top), alike(top + 1)];
    // A parabola through the three has its top here.
    const period = (top + (before - after) / (2 * (before - 2 * here + after))) / times;
    confidence = Math.min(confidence, here - drift);
    top = Math.round(2 * times * period);
    if (top + 4 > half) return { hz: rate / period, confidence: Math.max(0, confidence) };
    while (top + 2 < half && alike(top + 1) > alike(top)) top++;
    while (alike(top - 1) > alike(top)) top--;
  }
}

/** @param {Float64Array} tone @param {number} lag @param {number} length */
function likeness(tone, lag, length) {
  let product = 0;
  let power = 1e-12;
  for (let at = 0; at < length; at++) {
    const one = tone[at];
    const other = tone[at + lag];
    product += one * other;
    power += one * one + other * other;
  }
  return (2 * product) / power;
}

const cents = (/** @type {number} */ hz, /** @type {number} */ from) => 1200 * Math.log2(hz / from);

/** @param {number} hz @returns {string} the nearest note: "E2" */
function noteOf(hz) {
  const number = Math.round(69 + cents(hz, 440) / 100);
  return NOTES[number % 12] + (Math.floor(number / 12) - 1);
}

const signed = (/** @type {number} */ value) => (value < 0 ? "\u2212" : "+") + Math.abs(value).toFixed(1);

/** One place to listen at. @param {HTMLElement} root */
function dress(root) {
  const part = (/** @type {string} */ name) => /** @type {HTMLElement} */ (root.querySelector(`[data-${name}]`));
  const bar = /** @type {HTMLMeterElement} */ (part("bar"));
  const samples = new Float32Array(BLOCK);
  /** @type {AudioContext | undefined} */
  let context;
  /** @type {MediaStream | undefined} */
  let stream;
  /** Counts openings, so that one begun before a closing ends there. */
  let turn = 0;
  /** @type {number[]} the last pitches heard, in Hz */
  let looks = [];
  /** @type {number | undefined} what is shown */
  let shown;
  /** Whether the string whose value was just kept may still ring. */
  let rings = false;
  /** @type {Record<string, Record<string, number>>} cents by string and place */
  const kept = {};

  const say = (/** @type {string} */ what, gaps = {}) => {
    const said = words(root, what, gaps);
    if (part("said").textContent !== said) part("said").textContent = said;
  };
  const chosen = (/** @type {string} */ of) =>
    /** @type {HTMLElement} */ (root.querySelector(`[data-${of}][aria-pressed=true]`));
  const choose = (/** @type {Element | null | undefined} */ one) => {
    if (!one) return;
    for (const each of one.parentElement?.children ?? []) each.setAttribute("aria-pressed", String(each === one));
    shown = undefined;
    for (const name of ["note", "cents", "hz"]) part(name).textContent = "\u2013";
    part("keep").hidden = true;
  };

  const show = (/** @type {{ hz: number, confidence: number }} */ { hz, confidence }) => {
    bar.value = confidence;
    if (!hz || confidence < FAIR) {
      rings = false;
      return say("unsure");
    }
    if (looks.length && Math.abs(cents(hz, looks[looks.length - 1])) > OTHER_CENTS) {
      rings = false;
      looks = [];
    }
    looks = [...looks, hz].slice(-LOOKS);
    if (rings) return say("rings");
    const middle = [...looks].sort((one, other) => one - other)[looks.length >> 1];
    const open = Number(chosen("string").dataset.wants);
    const pressed = chosen("place").dataset.place !== "open";
    // Open, its harmonic an octave up counts like the string.
    const wanted = pressed || middle > open * Math.SQRT2 ? 2 * open : open;
    shown = cents(middle, wanted);
    part("note").textContent = noteOf(middle);
    part("cents").textContent = signed(shown);
    part("hz").textContent = middle.toFixed(2);
    const other = Math.abs(shown) > OTHER_CENTS;
    part("keep").hidden = other;
    if (other) say("other", { note: noteOf(middle), wanted: noteOf(pressed ? wanted : open) });
    else say(confidence < SURE ? "fair" : "sure");
  };

  const close = () => {
    turn++;
    for (const track of stream?.getTracks() ?? []) track.stop();
    context?.close();
    stream = context = undefined;
    part("listen").hidden = false;
    part("stop").hidden = true;
    bar.value = 0;
  };

  const listen = async () => {
    const mine = ++turn;
    say("opening");
    try {
      // Within the tap: some phones let nothing sound, or be heard, otherwise.
      context = new AudioContext();
      // Whatever makes speech clearer bends a string's sound.
      const audio = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
      const heard = await navigator.mediaDevices.getUserMedia({ audio });
      if (mine !== turn) return heard.getTracks().forEach((track) => track.stop());
      stream = heard;
      await context.resume();
      const ear = new AnalyserNode(context, { fftSize: BLOCK });
      context.createMediaStreamSource(heard).connect(ear);
      part("listen").hidden = true;
      part("stop").hidden = false;
      part("shown").hidden = false;
      const { sampleRate } = context;
      const look = () => {
        if (mine !== turn) return;
        ear.getFloatTimeDomainData(samples);
        show(pitch(samples, sampleRate));
        setTimeout(look, EVERY_MS);
      };
      look();
    } catch (trouble) {
      if (mine !== turn) return;
      close();
      say(/** @type {Error} */ (trouble).name === "NotAllowedError" ? "refused" : "none");
    }
  };

  /** Keep what is shown: in the field that asks for it, and in the list. Then the next is due. */
  const keep = () => {
    if (shown === undefined) return;
    const { string = "" } = chosen("string").dataset;
    const { place = "" } = chosen("place").dataset;
    const held = (kept[string] ??= {});
    held[place] = shown;
    fill(`${place}_${string}`, shown);
    row(`${place} ${string}`, "kept", { string, where: chosen("place").textContent, cents: signed(shown) });
    if (held.open !== undefined && held.octave !== undefined) {
      const apart = held.octave - held.open;
      fill(`octave_off ${string}`, apart);
      row(`off ${string}`, "apart", { string, cents: signed(apart) });
    }
    const next = chosen("place").nextElementSibling;
    const first = chosen("place").parentElement?.firstElementChild;
    if (!next) choose(chosen("string").nextElementSibling);
    choose(next ?? first);
    rings = true;
  };

  const fill = (/** @type {string} */ name, /** @type {number} */ value) => {
    const field = document.querySelector(`input[name="${CSS.escape(name)}"]`);
    if (field instanceof HTMLInputElement) field.value = value.toFixed(1);
  };

  const row = (/** @type {string} */ key, /** @type {string} */ what, /** @type {object} */ gaps) => {
    const list = part("kept");
    const line = [...list.children].find((one) => one.getAttribute("data-key") === key) ?? document.createElement("li");
    line.setAttribute("data-key", key);
    line.textContent = words(root, what, gaps);
    list.append(line);
  };

  root.hidden = false;
  if (!window.isSecureContext) {
    part("listen").hidden = true;
    return say("insecure");
  }
  root.addEventListener("click", (event) => {
    const button = event.target instanceof Element ? event.target.closest("button") : null;
    if (button?.matches("[data-string], [data-place]")) choose(button);
  });
  part("listen").addEventListener("click", listen);
  part("stop").addEventListener("click", () => { close(); say(""); });
  part("keep").addEventListener("click", keep);
  // Nobody is listened to unseen.
  for (const sign of ["visibilitychange", "heelcap:locked"]) {
    document.addEventListener(sign, () => { if (context) { close(); say(""); } });
  }
  addEventListener("pagehide", close);
}

for (const root of document.querySelectorAll("[data-pitch]")) dress(/** @type {HTMLElement} */ (root));

// A pitch that is typed is reckoned here as well: the shop may be out of reach.
document.querySelector("[data-pitch-typed]")?.addEventListener("submit", (event) => {
  const form = /** @type {HTMLFormElement} */ (event.target);
  const typed = new FormData(form);
  const hz = Number(String(typed.get("hz")).replace(",", "."));
  const string = form.querySelector("[name=string] :checked");
  const answer = document.querySelector("[data-answer]");
  if (!(hz > 0) || !string || !answer) return; // the shop says what is wrong with it
  event.preventDefault();
  const { least, most } = form.dataset;
  if (hz < Number(least) || hz > Number(most)) {
    answer.textContent = words(form, "range");
    return;
  }
  const wanted = Number(string.getAttribute("data-wants")) * 2 ** (Number(typed.get("fret")) / 12);
  const by = Number(cents(hz, wanted).toFixed(1));
  const gaps = { hz, cents: Math.abs(by), note: noteOf(wanted), wanted: wanted.toFixed(2) };
  answer.textContent = words(form, by > 0 ? "above" : by < 0 ? "below" : "on", gaps);
});
