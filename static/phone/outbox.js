/**
 * An act is kept on this phone before it is sent: the form of one ([data-outbox]) is frozen at
 * the tap, written down, said to be kept, and sent; its answer is shown as the form's own would
 * have been. All words come from data-say-… attributes of [data-unsent] and [data-waits].
 */
import { acts, add, drop, get, put, tidy } from "./store.js";
import { ANSWER_MS } from "./reach.js";
import { ask, flush, hear, page, tell } from "./sender.js";
import { words } from "./words.js";

const REDRAW_MS = 100;
const SHOWN = "heelcap shown";

/**
 * @typedef {import("./store.js").Entry} Entry
 * @typedef {object} Held a form whose act is kept, what is said beside its button, and by which name
 * @property {HTMLFormElement} form @property {Entry} act @property {string} alike
 * @property {HTMLElement} line @property {string} said
 */
/** @type {Map<string, Held>} by key */
const held = new Map();
/** Whether the page is of whoever tapped: nobody else is shown what the shop answers them. */
const ours = (/** @type {Entry} */ { badge, claimed }) => !claimed && badge === strip?.dataset.badge;
page.form = (act) => (ours(act) ? held.get(act.key)?.form : undefined);

/** @param {string} what @returns {HTMLElement | null} */
const find = (what, from = /** @type {ParentNode} */ (document)) => from.querySelector(what);
const strip = find("[data-unsent]");

/** @param {string} where @param {string} said read out, wherever it stands */
function aloud(where, said) {
  const region = find(where);
  if (region) region.textContent = said;
}

/** @param {Held} one @param {string} name of the sentence */
function say(one, name) {
  one.said = name;
  one.form.ariaBusy = name === "sending" ? "true" : null; // kept for good: busy no more
  one.line.textContent = words(strip, name, one.act);
  aloud("[data-kept-said]", one.line.textContent);
}

/** @param {HTMLFormElement} form @param {HTMLElement | null} button */
async function take(form, button) {
  const captured = new Date().toISOString();
  const data = new FormData(form);
  if (button instanceof HTMLButtonElement && button.name) data.append(button.name, button.value);
  const own = String(data.get("key") ?? "");
  data.delete("clock");
  data.delete("csrfmiddlewaretoken");
  const alike = JSON.stringify([...data]);
  // Tapped twice. A page that is everybody's brings no key: other words on it are another act.
  if ([...held.values()].some((one) => one.form === form && (own || one.alike === alike))) return;
  const key = own || crypto.randomUUID();
  data.set("key", key);
  data.set("clock", captured);
  const named = button ?? [...form.elements].find((one) => one.matches("button:enabled"));
  const { about = "", serial = "", says = named?.textContent?.trim() ?? "" } = form.dataset;
  const { pathname, search } = new URL(form.getAttribute("action") ?? "", location.href);
  const act = /** @type {Entry} */ ({
    key, captured, about, serial, says,
    url: pathname + search,
    fields: [...data].filter(([, one]) => typeof one === "string" || one.size), // no photo: no field
    state: "waiting", why: [], tries: 0, first: null,
  });
  const line = document.createElement("p");
  line.className = "kept finding finding-wait";
  const one = { form, act, alike, line, said: "" };
  held.set(key, one);
  form.ariaBusy = "true";
  form.inert = !("again" in form.dataset); // what is kept is what was tapped
  try {
    await add(({ who, claim, offset }) => {
      const { badge, station = who.station ?? "" } = strip?.dataset ?? {};
      act.badge = claim || badge || who.badge || "";
      act.claimed = Boolean(claim);
      act.proof = !claim && act.badge === who.badge ? who.proof : "";
      return act.badge ? Object.assign(act, { station, offset }) : null;
    });
  } catch (trouble) {
    // Nothing can be kept here, as in a private window: it goes as it would without script.
    if (/** @type {Error} */ (trouble).name !== "ConstraintError") return post(act);
  }
  const thumb = button?.closest(".thumb");
  if (thumb) thumb.append(line);
  else (form.closest(".line-up") ?? form).after(line);
  if (!act.badge) {
    held.delete(key); // whose would it be?
    form.inert = false;
    return say(one, "nobody");
  }
  say(one, "sending");
  form.dispatchEvent(new CustomEvent("heelcap:kept", { bubbles: true, detail: act }));
  setTimeout(() => one.said === "sending" && held.has(key) && say(one, "waits"), ANSWER_MS);
  tell({});
  void flush(true);
  if (about && (await acts()).some((other) => other.state === "refused" && other.about === about)) say(one, "behind");
}

/** Post an act as its form would be without script. @param {Entry} act */
async function post({ url, fields }) {
  const form = document.createElement("form");
  Object.assign(form, { method: "post", action: url, enctype: "multipart/form-data", hidden: true });
  const old = /** @type {HTMLInputElement | null} */ (find("[name=csrfmiddlewaretoken]"))?.value;
  const token = await ask().then((who) => who.token, () => old ?? "");
  for (const [name, value] of [...fields, ["csrfmiddlewaretoken", token]]) {
    const field = document.createElement("input");
    field.name = String(name);
    if (typeof value === "string") field.value = value;
    else {
      const files = new DataTransfer();
      files.items.add(value);
      field.type = "file";
      field.files = files.files;
    }
    form.append(field);
  }
  document.body.append(form);
  form.submit();
}

/** @param {Entry} act @param {import("./sender.js").Told} told */
function answered(act, { outcome, next, html }) {
  const one = held.get(act.key);
  if (!one) {
    if (outcome === "refused") aloud("[data-refused-said]", words(strip, "refused", act));
    return;
  }
  held.delete(act.key);
  one.form.ariaBusy = null;
  one.form.inert = false;
  if (outcome === "refused" && !ours(act)) return say(one, "refused");
  one.line.remove();
  const target = find(one.form.getAttribute("hx-target") ?? "none");
  if (html && target) {
    const swapStyle = one.form.getAttribute("hx-swap") ?? "innerHTML";
    window.htmx.swap(target, html, { swapStyle }, { contextElement: one.form });
  } else if (next && outcome !== "refused") location.assign(next);
  else if (!ours(act)) location.reload();
  else {
    // The ordinary page shows the answer, and what it shows needs no place in the list.
    sessionStorage.setItem(SHOWN, JSON.stringify([act.seq, act.key, act.url]));
    void post(one.act);
  }
}

/** The page that was to show a refusal is here. */
async function shown() {
  const [seq, key, url] = JSON.parse(sessionStorage.getItem(SHOWN) ?? "[]");
  sessionStorage.removeItem(SHOWN);
  if (!strip?.hasAttribute("data-posted") || url?.split("?")[0] !== location.pathname) return;
  if ((await acts(seq - 1))[0]?.key === key) await drop(seq);
}

/** How many wait, in the strip, on the app's picture, and by badge where one signs in. */
async function draw() {
  const all = (await acts()).filter((one) => one.state !== "aside");
  const refused = all.filter((one) => one.state === "refused").length;
  const count = (/** @type {string} */ name, /** @type {number} */ n) => {
    const part = find(`[data-${name}]`, strip ?? document);
    if (!part) return;
    part.hidden = !n;
    (find("[data-n]", part) ?? part).textContent = n ? words(strip, `${name}-${n === 1 ? "one" : "many"}`, { n }) : "";
  };
  if (strip) {
    strip.hidden = !all.length;
    count("wait", all.length - refused);
    count("refused", refused);
  }
  navigator.setAppBadge?.(all.length).catch(() => {}); // 0 takes it away
  const whose = find("[data-waits]");
  whose?.replaceChildren(...[...new Set(all.map((one) => one.badge))].sort().map((badge) => {
    const n = all.filter((one) => one.badge === badge).length;
    const line = document.createElement("p");
    line.textContent = words(whose, n === 1 ? "one" : "many", { badge, n });
    return line;
  }));
}

/** Have the proof of whoever this page was made for, once no pad lies over it. */
async function acquaint() {
  const { badge, station } = strip?.dataset ?? {};
  if (!badge || find("#lock > *")) return;
  const who = await get("who");
  if (!who?.proof || who.badge !== badge || who.station !== station) await ask();
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!(form instanceof HTMLFormElement) || !form.matches("[data-outbox]")) return;
  event.preventDefault();
  void take(form, event.submitter);
});
// htmx leaves these forms to us.
document.addEventListener("htmx:confirm", (event) => {
  if (/** @type {Element} */ (event.target).matches("form[data-outbox]")) event.preventDefault();
});
// The pad was laid over the page: from now on nothing proves who taps.
document.addEventListener("heelcap:locked", () => get("who").then((who) => put("who", { ...who, proof: "" })).catch(() => {}));
document.addEventListener("htmx:afterSettle", () => acquaint().then(() => flush(), () => {}));
// A page brought back from before: what was sent since is on no page yet.
addEventListener("pageshow", async ({ persisted }) => {
  if (!persisted) return;
  const keys = (await acts().catch(() => [])).map((one) => one.key);
  if ([...held.keys()].some((key) => !keys.includes(key))) location.reload();
});

let drawing = 0;
hear(({ act, told, why }) => {
  if (act && told) answered(act, told);
  if (why) for (const one of held.values()) if (one.said !== "behind") say(one, why === "nobody" ? "unsigned" : "waits");
  // The shop has forgotten the badge of this page: its pad comes, and what waits goes after it.
  if (why === "nobody" && strip?.dataset.badge && held.size) document.dispatchEvent(new Event("heelcap:forgotten"));
  drawing ||= setTimeout(() => { drawing = 0; draw().catch(() => {}); }, REDRAW_MS);
});

// Where one signs in, nobody has signed in: what is tapped now is nobody's. But a hand is there.
if (!strip) {
  localStorage.setItem("heelcap touched", String(Date.now()));
  get("who").then((who) => put("who", { ...who, badge: "", proof: "" })).catch(() => {});
}
shown().then(tidy).then(draw).catch(() => {});
acquaint().catch(() => {}).then(() => flush(true));
