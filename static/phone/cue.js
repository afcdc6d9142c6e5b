/**
 * A sound and a tremble for each kind of answer, different in rhythm as well as in pitch, so
 * that they are told apart in noise. An element with data-cue="clear|warn|stop" calls for one
 * when it comes onto the page; what it says is on the page in words too. Where a part is the
 * [data-answer] to what was done just now, only that part is heard.
 */

/**
 * @typedef {object} Cue
 * @property {[hertz: number, seconds: number][]} tones
 * @property {number[]} tremble milliseconds on, off, on …
 */

/** @type {Record<string, Cue>} */
const CUES = {
  clear: { tones: [[1047, 0.09]], tremble: [60] },
  warn: { tones: [[659, 0.11], [0, 0.07], [659, 0.11]], tremble: [90, 70, 90] },
  stop: { tones: [[196, 0.28], [0, 0.08], [196, 0.28], [0, 0.08], [147, 0.4]], tremble: [300, 90, 300, 90, 450] },
};
const WORST_FIRST = ["stop", "warn", "clear"];
const LOUDNESS = 0.35;
/** Fades in and out this long, so that nothing clicks. */
const EDGE_S = 0.01;

/** @type {AudioContext | undefined} */
let audio;

/** @param {Cue["tones"]} tones */
function sound(tones) {
  audio ??= new AudioContext();
  // A browser keeps sound off until the page was touched. A late sound would mislead.
  if (audio.state !== "running") return;
  let at = audio.currentTime;
  for (const [hertz, seconds] of tones) {
    if (hertz) {
      const tone = audio.createOscillator();
      const level = audio.createGain();
      tone.type = "triangle";
      tone.frequency.value = hertz;
      level.gain.setValueAtTime(0, at);
      level.gain.linearRampToValueAtTime(LOUDNESS, at + EDGE_S);
      level.gain.setValueAtTime(LOUDNESS, at + seconds - EDGE_S);
      level.gain.linearRampToValueAtTime(0, at + seconds);
      tone.connect(level).connect(audio.destination);
      tone.start(at);
      tone.stop(at + seconds);
    }
    at += seconds;
  }
}

/** @type {WeakSet<Element>} elements that have had their cue */
const given = new WeakSet();

/** Give the worst cue that is new on the page. */
export function give() {
  const fresh = [...document.querySelectorAll("[data-cue]")].filter((one) => !given.has(one));
  for (const one of fresh) given.add(one);
  const answers = fresh.filter((one) => one.closest("[data-answer]"));
  const kinds = (answers.length ? answers : fresh).map((one) => one.getAttribute("data-cue"));
  const kind = WORST_FIRST.find((one) => kinds.includes(one));
  if (!kind) return;
  document.documentElement.dataset.cued = kind;
  if ("AudioContext" in window) sound(CUES[kind].tones);
  if (navigator.userActivation?.hasBeenActive) navigator.vibrate?.(CUES[kind].tremble);
}

give();
document.addEventListener("htmx:afterSettle", give);
// Woken by a touch, sound is ready when the answer to that touch comes.
document.addEventListener("pointerdown", () => {
  if ("AudioContext" in window) (audio ??= new AudioContext()).resume();
});
