/**
 * Sends what waits on this phone, one act after another in the order of the taps, from one tab at
 * a time. What could not be sent stays where it is.
 */
import { ANSWER_MS, asked } from "./reach.js";
import { acts, alter, drop, get, put } from "./store.js";

const BYTES_PER_MS = 30; // what a photo may take longer
const EVERY_MS = 20_000;
const AT_MOST_MS = 60_000;
const ELSEWHERE_MS = 500;
const STUMBLES = 3; // in a row, and the shop is left alone for a while

/**
 * @typedef {import("./store.js").Entry} Entry
 * @typedef {{ outcome: string, next: string, html: string }} Told what became of an act
 * @typedef {{ badge: string, proof: string, token: string, now: string, station: string }} Who
 * @typedef {{ act?: Entry, told?: Told, why?: string }} News an act answered, or why none is
 */

/** @type {((news: News) => void)[]} */
const ears = [];
const channel = "BroadcastChannel" in window ? new BroadcastChannel("heelcap outbox") : null;
channel?.addEventListener("message", ({ data }) => ears.forEach((ear) => ear(data)));

/** @param {(news: News) => void} ear is told what happens in this tab and in others */
export const hear = (ear) => ears.push(ear);

/** @param {News} news */
export function tell(news) {
  channel?.postMessage(news);
  ears.forEach((ear) => ear(news));
}

/** The form an act was tapped on, if it is on this page. */
export const page = { form: (/** @type {Entry} */ _) => /** @type {Element | undefined} */ (undefined) };

/** Ask who is signed in at this phone, and compare the clocks. Throws where nobody answers. */
export async function ask() {
  const from = Date.now();
  const answer = await asked("/who/");
  if (!answer.ok) throw new Error(String(answer.status));
  /** @type {Who} */
  const who = await answer.json();
  const to = Date.now();
  await put("offset", Math.round(Date.parse(who.now) - (from + to) / 2));
  await put("who", who.badge ? who : { ...(await get("who")), proof: "" });
  return who;
}

/** @param {Entry} act @param {Who} who @returns {Promise<Told | string>} or why there is none */
async function post(act, who) {
  const body = new FormData();
  let bytes = 0;
  for (const [name, value] of act.fields) {
    body.append(name, value);
    if (typeof value !== "string") bytes += value.size;
  }
  const form = page.form(act);
  const part = form?.hasAttribute("hx-target");
  /** @type {Record<string, string>} */
  const headers = {
    Accept: part ? "text/html" : "application/json",
    "Idempotency-Key": `"${act.key}"`,
    "X-CSRFToken": who.token,
    "X-Phone-Badge": act.badge,
    "X-Phone-Proof": act.proof,
    "X-Phone-Station": act.station,
    "X-Phone-Sent": new Date().toISOString(),
  };
  if (act.offset !== null) headers["X-Phone-Offset"] = String(act.offset);
  if (act.claimed) headers["X-Phone-Claimed"] = "1";
  if (part) headers["HX-Request"] = "true";
  if (!form) headers["X-Fresh"] = "1";
  try {
    const signal = AbortSignal.timeout?.(ANSWER_MS + bytes / BYTES_PER_MS);
    const { ok, status, headers: heard, ...answer } = await read(act.url, { method: "POST", body, headers, redirect: "error", signal });
    const outcome = heard.get("X-Outcome") ?? (status === 400 ? "refused" : "");
    const { words = [], why = "", next = "" } = answer.said;
    act.why = why ? [why] : words;
    if (outcome) return { outcome, next, html: part && ok ? answer.html : "" };
    if (status === 401) return "nobody";
    return status === 403 && why === "token" ? why : "later";
  } catch {
    return "away";
  }
}

/** @param {string} url @param {RequestInit} how */
async function read(url, how) {
  const answer = await fetch(url, how);
  const { ok, status, headers } = answer;
  const json = headers.get("Content-Type")?.includes("json");
  return { ok, status, headers, said: json ? await answer.json() : {}, html: json ? "" : await answer.text() };
}

/** Up to here a round was stopped by what could not be answered: the next one goes on behind it. */
let upTo = 0;

/**
 * Send all that may be sent. An act that was refused or not answered keeps back the later ones of
 * its own instrument only.
 * @returns {Promise<string>} "", or why it stopped: "away", "nobody"
 */
async function round() {
  /** @type {Who | undefined} */
  let who;
  let after = 0;
  let stumbles = 0;
  let late = "";
  const tried = upTo;
  upTo = 0;
  // Somebody goes on unseen: the pad comes first, and what waits goes after it.
  if (await get("claim")) return "";
  const held = new Set();
  for (let found; (found = await acts(after)).length;) {
    for (const { seq, about, state } of found) {
      after = seq;
      if (state === "refused" || seq <= tried) held.add(about);
      if (state !== "waiting" || seq <= tried || (about && held.has(about))) continue;
      who ??= await ask();
      if (!who.badge) return "nobody";
      const act = await alter(seq, (one) => {
        one.tries += 1;
        one.first ??= new Date().toISOString();
      });
      if (act?.state !== "waiting") continue; // a hand was there meanwhile
      let told = await post(act, who);
      if (told === "token") told = await post(act, (who = await ask()));
      if (told === "away" || told === "nobody") return told;
      if (typeof told === "string") {
        held.add(about);
        late = "away";
        if (++stumbles === STUMBLES) {
          upTo = seq;
          return late;
        }
        continue;
      }
      stumbles = 0;
      if (told.outcome === "refused" && !told.html) {
        held.add(about);
        await alter(seq, (one) => Object.assign(one, { state: "refused", why: act.why }));
      } else await drop(seq);
      tell({ act: { ...act, fields: [] }, told });
    }
  }
  return late;
}

/**
 * Over plain http there are no locks: two tabs may then send the same, and the shop does it once.
 * @returns {Promise<string>} as of a round, or "elsewhere"
 */
const alone = async () => navigator.locks
  ? navigator.locks.request("outbox", { ifAvailable: true }, (lock) => (lock ? round() : "elsewhere")) : round();

let timer = 0;
let fails = 0;
let notBefore = 0;
let again = false;
/** @type {Promise<void> | null} */
let running = null;

/** Send what waits. @param {boolean} [now] even if the shop was just found away */
export function flush(now = false) {
  again ||= now;
  if (now || performance.now() >= notBefore) running ??= sending().finally(() => { running = null; });
  return running;
}

async function sending() {
  do {
    again = false;
    clearTimeout(timer);
    // A store that cannot be read has nothing to send; a network that breaks off is away.
    if (!(await acts().catch(() => [])).some((one) => one.state === "waiting")) continue;
    const why = await alone().catch(() => "away");
    fails = why === "away" ? fails + 1 : 0;
    const pause = fails && Math.min(AT_MOST_MS, 1000 * 2 ** fails) * (0.5 + Math.random() / 2);
    notBefore = performance.now() + pause;
    if (why === "elsewhere") timer = setTimeout(() => flush(true), ELSEWHERE_MS);
    else if (pause) timer = setTimeout(() => flush(), pause + 1);
    if (why && why !== "elsewhere") tell({ why });
  } while (again);
}

setInterval(() => flush(), EVERY_MS);
for (const sign of ["online", "pageshow"]) addEventListener(sign, () => flush(true));
for (const sign of ["focus", "visibilitychange"]) addEventListener(sign, () => document.hidden || flush());
