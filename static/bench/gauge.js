/**
 * Entering what was measured: big keys for gloves, and a gauge that types its value and Enter.
 * Enter only ever moves on; nothing is sent until Record is pressed. Without script the form
 * is typed into and sent like any other.
 */

import { words } from "../phone/words.js";

const form = document.querySelector("[data-gauge]");
const keys = document.querySelector("[data-figures]");
const record = document.querySelector("[data-record]");
const told = document.querySelector("[data-told]");

/** @type {HTMLInputElement | null} the field in hand */
let hand = null;
/** Whether keys came from outside any field: the Enter behind them presses nothing. */
let stray = false;

/** @param {EventTarget | null} one @returns {one is HTMLInputElement} */
function isFigure(one) {
  return one instanceof HTMLInputElement && one.matches("[data-figure]");
}

/** @param {HTMLInputElement} one */
function isEmpty(one) {
  if (isFigure(one)) return !one.value.trim();
  return !form?.querySelector(`input[name="${CSS.escape(one.name)}"]:checked`);
}

/** What still waits for a value, in the order it is measured. @returns {HTMLInputElement[]} */
function open() {
  return [.../** @type {NodeListOf<HTMLInputElement>} */ (form?.querySelectorAll("[data-open]"))];
}

/** The next open and empty one behind this one, else Record. @param {Element | null} from */
function moveOn(from) {
  const behind = (/** @type {Element} */ one) =>
    !from || Boolean(from.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_FOLLOWING);
  const sameChoice = (/** @type {HTMLInputElement} */ one) =>
    from instanceof HTMLInputElement && one.name === from.name;
  const next = open().find((one) => behind(one) && !sameChoice(one) && isEmpty(one));
  if (next) next.focus();
  else if (record instanceof HTMLElement) record.focus();
}

/** Take the field in hand: what is typed next stands in the place of what it holds. */
function take(/** @type {HTMLInputElement} */ one) {
  hand = one;
  one.inputMode = "none"; // the phone's own keyboard would cover the keys
  one.select();
  keys?.removeAttribute("hidden");
  one.closest("[data-spot]")?.scrollIntoView({ block: "center" });
}

/** @param {HTMLInputElement} one @param {string} text */
function put(one, text) {
  if (one.value.length - selected(one) + text.length > one.maxLength) return;
  one.setRangeText(text, one.selectionStart ?? 0, one.selectionEnd ?? 0, "end");
}

/** @param {HTMLInputElement} one */
function takeBack(one) {
  const end = one.selectionEnd ?? one.value.length;
  const start = selected(one) ? (one.selectionStart ?? 0) : Math.max(0, end - 1);
  one.setRangeText("", start, end, "end");
}

/** @param {HTMLInputElement} one */
function selected(one) {
  return (one.selectionEnd ?? 0) - (one.selectionStart ?? 0);
}

/** @param {string} key */
function press(key) {
  if (!hand) return;
  if (key === "next") moveOn(hand);
  else if (key === "done" && record instanceof HTMLElement) record.focus();
  else if (key === "back") takeBack(hand);
  else put(hand, key);
}

form?.addEventListener("focusin", (event) => {
  if (isFigure(event.target)) take(event.target);
  else keys?.setAttribute("hidden", "");
});
form?.addEventListener("focusout", (event) => {
  if (!(/** @type {FocusEvent} */ (event).relatedTarget)) keys?.setAttribute("hidden", "");
});
// A key must not take the focus out of the field it fills.
keys?.addEventListener("mousedown", (event) => event.preventDefault());
keys?.addEventListener("click", (event) => {
  const key = event.target instanceof Element && event.target.closest("[data-key]");
  if (key) press(key.getAttribute("data-key") ?? "");
});

document.addEventListener("pointerdown", () => { stray = false; });
document.addEventListener(
  "keydown",
  (event) => {
    if (!form || document.querySelector("#lock > *")) return;
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const at = event.target;
    if (event.key === "Enter" && at instanceof HTMLInputElement && form.contains(at)) {
      event.preventDefault();
      stray = false;
      moveOn(at);
    } else if (event.key === "Enter" && stray) {
      event.preventDefault();
      stray = false;
    } else if (/^[\d.,+-]$/.test(event.key) && !(at instanceof HTMLInputElement)) {
      event.preventDefault();
      outside(event.key);
    }
  },
  true,
);

/** A figure typed while no field has the focus: a gauge's, meant for the field in hand. */
function outside(/** @type {string} */ figure) {
  const one = hand && isEmpty(hand) ? hand : open().find((each) => isFigure(each) && isEmpty(each));
  if (one && !stray) {
    one.focus();
    put(one, figure);
    return;
  }
  stray = true;
  if (told) told.textContent = words(told, "full");
}

const wrong = form?.querySelector("[aria-invalid=true]");
const first = wrong ?? open().find(isEmpty);
if (first instanceof HTMLElement) first.focus();
