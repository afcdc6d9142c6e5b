/**
 * Locks the phone after idle time: the PIN pad is laid over the page, which stays as it is.
 * Where the shop is not reached no PIN can be checked: somebody goes on under a badge of this
 * phone that is only claimed, until the shop is back and its pad comes.
 */
import "./keypad.js";
import { asked, reach } from "../phone/reach.js";
import { get, put } from "../phone/store.js";
import { words } from "../phone/words.js";

const ANSWER_MS = 3000;
const AGAIN_MS = 5000;
const TOUCHED = "heelcap touched";
const { pad = "", idleS } = document.body.dataset;
const cover = /** @type {HTMLElement} */ (document.getElementById("lock"));
const away = /** @type {HTMLTemplateElement | null} */ (document.querySelector("[data-away]"));
const strip = /** @type {HTMLAnchorElement | null} */ (document.querySelector("[data-switch]"));
const shown = strip?.querySelector("b");
let own = shown?.textContent ?? "";
// A page of somebody's was asked for by a hand just now; of one that names nobody only the phone knows.
let last = Number((document.querySelector("[data-who]") && localStorage.getItem(TOUCHED)) || Date.now());
let tried = 0;
let asking = false;
/** The badge that goes on unseen, or "". */
let claimed = "";

/** @param {typeof reach} ask @param {string} address @param {RequestInit} [how] Throws where the shop is not reached. */
async function soon(ask, address, how) {
  const answer = await ask(address, { signal: AbortSignal.timeout?.(ANSWER_MS), ...how });
  if (answer.status >= 500) throw new Error(String(answer.status));
  return answer;
}

const who = () => soon(asked, "/who/");

/** Lay the pad over the page: the shop knows nobody at this phone from then on. */
async function lock() {
  if (asking) return;
  asking = true;
  tried = Date.now();
  try {
    const { token } = await (await who()).json();
    const headers = { "HX-Request": "true", "X-CSRFToken": token };
    const html = await (await soon(reach, pad, { method: "POST", headers })).text();
    if (claimed) await claim("");
    cover.innerHTML = html;
    window.htmx.process(cover);
    cover.dispatchEvent(new CustomEvent("htmx:afterSwap", { bubbles: true }));
  } catch {
    if (!claimed) unseen();
  }
  asking = false;
}

/** Lay over the page what can be done while the shop is not reached. */
function unseen() {
  if (!away || cover.querySelector("[data-again]")) return;
  cover.replaceChildren(away.content.cloneNode(true));
  const first = /** @type {HTMLElement} */ (cover.querySelector("[data-as]"));
  const kept = /(?:^|; )badges=([A-Z0-9.-]+)/.exec(document.cookie)?.[1].split(".") ?? [own];
  first.replaceWith(...kept.map((badge) => {
    const one = /** @type {HTMLElement} */ (first.cloneNode(true));
    one.dataset.as = badge;
    one.textContent = (one.textContent ?? "").replace("{badge}", badge);
    return one;
  }));
  cover.querySelector("h2")?.focus();
}

/** Go on unseen, or be seen again. @param {string} badge or "" */
async function claim(badge) {
  // Kept twice: whatever is asked of the shop meanwhile, no PIN was looked at.
  await put("claim", badge);
  await put("who", { ...(await get("who")), badge: badge || own, proof: "" });
  name(badge);
}

/** @param {string} badge whom the strip names as not seen, or "" */
function name(badge) {
  claimed = badge;
  if (shown) shown.textContent = badge ? words(strip, "claimed", { badge }) : own;
}

cover.addEventListener("click", async (event) => {
  const tapped = /** @type {Element} */ (event.target).closest("[data-as], [data-again]");
  if (!(tapped instanceof HTMLElement)) return;
  if (!tapped.dataset.as) return lock();
  await claim(tapped.dataset.as);
  tried = Date.now();
  cover.replaceChildren();
});
for (const sign of ["htmx:sendError", "htmx:timeout"]) cover.addEventListener(sign, unseen);

strip?.addEventListener("click", async (event) => {
  event.preventDefault();
  try {
    await who();
    location.assign(strip.href);
  } catch {
    unseen();
  }
});

/** @type {HTMLElement | null} what on the page last had the focus */
let held = null;
document.addEventListener("focusin", (event) => {
  if (event.target instanceof HTMLElement && !cover.contains(event.target)) held = event.target;
});

/** While the pad lies over the page, nothing under it takes a key or a tap. */
function seal() {
  const locked = Boolean(cover.childElementCount);
  for (const one of document.body.children) {
    if (one !== cover && one instanceof HTMLElement) one.inert = locked;
  }
  if (locked) document.dispatchEvent(new Event("heelcap:locked"));
  else {
    last = Date.now();
    held?.focus();
  }
}

new MutationObserver(seal).observe(cover, { childList: true });

// Whatever the server answers tells it somebody is here; so the two clocks agree.
for (const sign of ["pointerdown", "keydown", "wheel", "submit", "htmx:afterRequest"]) {
  document.addEventListener(sign, () => { last = Date.now(); }, { passive: true });
}
document.addEventListener("heelcap:forgotten", () => cover.childElementCount || lock());
addEventListener("online", () => { tried = 0; });
const old = () => Date.now() - last > (Number(idleS) - 5) * 1000;
setInterval(() => {
  localStorage.setItem(TOUCHED, String(last));
  const covered = Boolean(cover.childElementCount);
  const again = covered ? cover.querySelector("[data-again]") : claimed;
  const idle = !covered && old();
  if (idle && claimed) unseen();
  if (again ? Date.now() - tried > AGAIN_MS : idle) void lock();
}, 1000);

own ||= (await get("who").catch(() => null))?.badge ?? ""; // nothing can be kept in a private window
name((await get("claim").catch(() => "")) ?? "");
if (old()) {
  document.dispatchEvent(new Event("heelcap:locked"));
  void lock();
}
