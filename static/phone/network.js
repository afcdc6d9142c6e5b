/**
 * Whether the shop can be reached, told by the last contact and by nothing else; what this phone
 * carries along; and when a new version is here. All words come from [data-network].
 */
import { asked } from "./reach.js";
import { hear } from "./sender.js";
import { acts } from "./store.js";
import { when, words } from "./words.js";

const EVERY_MS = 30_000;
const AWAY_MS = 10_000;
const CARRY_MS = 600_000;
const CARRIED = 50;
const OLD_MS = 24 * 3_600_000;
const SINCE = "heelcap away";
const UNITS = "heelcap units";
const LISTS = /^\/(scan\/|here\/)?$/;
const TAG = /^\/[0-9A-Z]{7}$/;

const box = /** @type {HTMLElement} */ (document.querySelector("[data-network]"));
const { lang } = document.documentElement;
const workers = navigator.serviceWorker;
/** When this page was made, if it is one that is kept. */
const made = /** @type {HTMLElement | null} */ (document.querySelector("[data-made]"))?.dataset.made;
/** Whether this page is one that names nobody, and so perhaps a copy. */
const shared = document.querySelector("[data-who]");
let since = Number(localStorage.getItem(SINCE));
let touched = false;
let timer = 0;

/** @param {string} part @returns {HTMLElement} */
const part = (part) => /** @type {HTMLElement} */ (box.querySelector(`[data-${part}]`));

/** @param {string} name of the sentence @param {object} [gaps] */
const say = (name, gaps) => words(box, name, gaps);

const waiting = async () => (await acts().catch(() => [])).filter((one) => one.state === "waiting").length;

async function draw() {
  const n = since ? await waiting() : 0;
  const lines = [];
  if (since) lines.push([say("away", { time: when(since) }), ...(n ? [say(n === 1 ? "wait-one" : "wait-many", { n })] : [])].join(" · "));
  if (made) lines.push(say(Date.now() - Date.parse(made) > OLD_MS ? "old" : "from", { time: when(made) }));
  if (!workers && location.pathname === "/scan/") lines.push(say("plain"));
  const said = lines.join("\n");
  if (part("line").textContent !== said) part("line").textContent = said;
  part("back").hidden = Boolean(since || !document.querySelector("[data-made], [data-elsewhere]"));
}

/** The shop answered, or did not. @param {boolean} here */
function heard(here) {
  const back = here && since;
  since = here ? 0 : since || Date.now();
  if (since) localStorage.setItem(SINCE, String(since));
  else localStorage.removeItem(SINCE);
  if (back) void carry();
  clearTimeout(timer);
  timer = setTimeout(reach, since ? AWAY_MS : EVERY_MS);
  void draw();
}

async function reach() {
  if (document.hidden) return;
  try {
    heard((await asked(box.dataset.worker ?? "", { method: "HEAD" })).status < 500);
  } catch {
    heard(false);
  }
}

/** @param {object} told @returns {Promise<any>} what the worker answers */
export async function ask(told) {
  if (!workers) return undefined;
  const { active } = await workers.ready;
  const { port1, port2 } = new MessageChannel();
  return new Promise((done) => {
    port1.onmessage = (event) => done(event.data);
    active?.postMessage(told, [port2]);
  });
}

/** @returns {Promise<string[] | undefined>} the tags of this station, as its list has them */
async function list() {
  const answer = await asked(box.dataset.here ?? "");
  if (!answer.ok || answer.redirected) return undefined;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  return [...page.querySelectorAll("[data-carry]")].slice(0, CARRIED).map((one) => one.getAttribute("data-carry") ?? "");
}

/** Have the pages kept that are wanted where the network does not reach. */
async function carry() {
  const units = box.dataset.units ?? localStorage.getItem(UNITS);
  const listed = shared || LISTS.test(location.pathname);
  if (!workers || !units || since || document.hidden || !(listed || TAG.test(location.pathname))) return;
  localStorage.setItem(UNITS, units);
  try {
    const codes = listed ? await list() : [location.pathname.slice(1)];
    if (!codes) return;
    const warm = codes.map((code) => `/${code}/carried/?units=${units}&language=${lang}`);
    const n = await ask({ warm, only: Boolean(listed) });
    const all = Boolean(listed && n && n === warm.length && !shared);
    part("ready").hidden = !all;
    part("ready").textContent = all ? say("ready", { n }) : "";
    box.dataset.ready = String(n);
  } catch {
    heard(false);
  }
}

/** Let the new version take over. @param {ServiceWorker} next */
function take(next) {
  workers.addEventListener("controllerchange", () => location.reload(), { once: true });
  next.postMessage({ take: true });
}

/** By itself only where nobody is in the middle of anything. @param {ServiceWorker} next */
async function offer(next) {
  if (location.pathname === "/scan/" && !(await waiting()) && !touched) return take(next);
  part("new").hidden = false;
  part("new").querySelector("button")?.addEventListener("click", () => take(next));
}

async function install() {
  const at = await workers.register(box.dataset.worker ?? "", { updateViaCache: "none" });
  if (at.waiting && workers.controller) void offer(at.waiting);
  at.addEventListener("updatefound", () => {
    const next = at.installing;
    next?.addEventListener("statechange", () => next.state === "installed" && workers.controller && offer(next));
  });
}

/** @param {string} signs @param {(event: any) => void} then */
const on = (signs, then) => signs.split(" ").forEach((one) => addEventListener(one, then, true));
on("pointerdown keydown", () => { touched = true; });
on("online offline visibilitychange", reach);
on("pageshow", (event) => event.persisted && reach());
on("htmx:sendError htmx:timeout", () => heard(false));
hear(({ act, why }) => (act || why ? heard(why !== "away") : draw()));
// What is typed on a live page is looked up by an address, which has a copy; a form has none.
document.addEventListener("submit", (event) => {
  const form = /** @type {HTMLFormElement} */ (event.target);
  if (event.defaultPrevented || !workers?.controller || !form.matches("[data-typed][action='/scan/']")) return;
  event.preventDefault();
  location.assign(`/scan/?code=${encodeURIComponent(new FormData(form).get("code")?.toString() ?? "")}`);
});

// The page itself came from the shop just now, unless it is one that is kept.
if (shared) void reach();
else heard(true);
if (workers) {
  install().then(carry, (trouble) => console.warn(trouble));
  setInterval(carry, CARRY_MS);
}
