/**
 * Keeps the [data-fresh] part of a page as the shop has it now: the page asks for itself, and
 * only what differs is changed. Focus, place, selection and what is unfolded stay.
 */
import { asked } from "./reach.js";
import { words } from "./words.js";

const BUSY = "#lock:not(:empty), main :is(input, select, textarea):focus, main :active";

/** @type {HTMLElement | null} */
const part = document.querySelector("[data-fresh]");
const said = document.querySelector("[data-fresh-said]");
let tag = part?.dataset.fresh;
let last = Date.now();
let pauseS = 10;
let timer = 0;

const busy = () => document.querySelector(BUSY);
const old = () => Date.now() - last > 25_000;
const key = (one) => one.dataset?.key;
const keyed = () => [...part.querySelectorAll("[data-key]")];
const rows = () => keyed().filter((one) => one.localName !== "section").map(key);

/** @param {Node} now @param {Node} next what it becomes @param {Map<string, Node>} kept by key */
function become(now, next, kept) {
  if (now.isEqualNode(next)) return;
  if (!next.attributes) now.nodeValue = next.nodeValue;
  for (const { name, value } of next.attributes ?? []) now.setAttribute(name, value);
  const wanted = [...next.childNodes];
  for (const one of [...now.childNodes]) {
    if (key(one) && !wanted.some((want) => key(want) === key(one))) one.remove();
  }
  let at = now.firstChild;
  for (const want of wanted) {
    const alike = at && !key(at) && at.nodeName === want.nodeName && at;
    const same = key(want) ? kept.get(key(want)) : alike;
    if (same && same === at) at = at.nextSibling;
    else now.insertBefore(same || want, at);
    if (same) become(same, want, kept);
  }
  while (at) [at] = [at.nextSibling, at.remove()];
}

/** The sentence of this name about the rows that one list has and the other has not. */
function tell(name, some, others) {
  const names = some.filter((one) => !others.includes(one)).join(", ");
  return names && words(said, name, { names });
}

async function refresh() {
  const answer = await asked(location.href, { headers: { "If-None-Match": tag } });
  // Nobody is signed in any more: the pad comes over the page, as after a tap.
  if (answer.status === 401) htmx.ajax("GET", location.href, { swap: "none", headers: { "X-Fresh": "1" } });
  const text = await answer.text();
  if (busy()) return;
  let words = "";
  if (answer.status !== 304) {
    const next = new DOMParser().parseFromString(text, "text/html").getElementById(part.id);
    const [before, held] = [rows(), document.activeElement];
    become(part, next, new Map(keyed().map((one) => [key(one), one])));
    if (held !== document.activeElement) held.focus({ preventScroll: true });
    words = [tell("came", rows(), before), tell("left", before, rows())].join(" ").trim();
    tag = answer.headers.get("ETag");
  }
  if (words || old()) said.textContent = words;
  [last, pauseS] = [Date.now(), 10];
}

function later() {
  clearTimeout(timer);
  timer = setTimeout(ask, pauseS * (800 + 400 * Math.random()));
}

async function ask() {
  if (document.hidden) return;
  await (busy() || refresh().catch(() => { pauseS = Math.min(2 * pauseS, 60); }));
  if (old()) said.textContent = words(said, "stale", { time: part.dataset.at });
  later();
}

if (part) {
  document.addEventListener("visibilitychange", ask);
  later();
}
