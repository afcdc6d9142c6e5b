/**
 * A page that is carried along and names nobody: who holds the phone is written in; operations
 * come in their turn, the next once the one before is kept; what is scanned is compared with
 * what belongs here by the phone itself. Words come from data-say-… attributes.
 */
import { codeIn } from "./code.js";
import { give } from "./cue.js";
import { ask } from "./network.js";
import { hear } from "./sender.js";
import { acts, get } from "./store.js";
import { when, words } from "./words.js";

const root = /** @type {HTMLElement} */ (document.querySelector("[data-carried], [data-elsewhere]"));
const { carried: about = "", tray = "", neck = "" } = root.dataset;
const CODE = /^[0-9A-Z]{7}$/;

/** @param {string} what @returns {HTMLElement | null} */
const find = (what, from = /** @type {ParentNode} */ (root)) => from.querySelector(what);

/** @param {string} name of the sentence @param {string} code */
const say = (name, code = "") =>
  words(root, name, { code: CODE.test(code) ? `${code.slice(0, 4)}-${code.slice(4)}` : code });

/** Show one box afresh, with its sound, and only it. @param {"wrong" | "right"} which */
function show(which, said = "", then = "") {
  for (const one of ["wrong", "right"]) {
    const box = find(`[data-${one}]`);
    const old = box?.firstElementChild;
    if (!box || !old) continue;
    box.hidden = one !== which;
    if (box.hidden) continue;
    const fresh = /** @type {HTMLElement} */ (old.cloneNode(true));
    fresh.dataset.cue = one === "right" ? "clear" : fresh.classList.contains("finding-stop") ? "stop" : "warn";
    for (const [part, text] of [["words", said], ["then", then]]) {
      const line = find(`[data-${part}]`, fresh);
      if (line) line.textContent = text;
    }
    old.replaceWith(fresh);
    box.scrollIntoView({ block: "center" });
  }
  give();
}

/** The form that is open now and waits for this scan. @param {string} what */
const wanting = (what) =>
  /** @type {HTMLFormElement | null} */ (find(`[data-part]:not([hidden], [data-done]) form[data-expects=${what}]`));

/** @param {string} text */
function scanned(text) {
  const code = codeIn(text).replace("-", "");
  if (!code) return show("wrong", say("not-code", text));
  // A label or a card: only the shop can say.
  if (!CODE.test(code)) return location.assign(`/scan/?code=${encodeURIComponent(text)}`);
  if (about && code.startsWith("T")) {
    if (code !== tray) return show("wrong", say("wrong", code), say("wrong-then"));
    show("right");
    const form = wanting("tray");
    if (form) fill(form, "code", code).requestSubmit();
  } else if (about && code.startsWith("N")) {
    if (code !== neck) return show("wrong", say("not-neck", code), say("not-neck-then"));
    show("right");
    const form = wanting("neck");
    if (form) find("button", fill(form, "neck", code))?.removeAttribute("hidden");
  } else location.assign(`/${code}`);
}

/** @param {HTMLFormElement} form @param {string} name @param {string} value */
function fill(form, name, value) {
  const field = form.elements.namedItem(name);
  if (field instanceof HTMLInputElement) field.value = value;
  return form;
}

/** Kept while this page is open: an act that was sent meanwhile stays done. */
const done = new Set();

/** The first part that is not kept is open; those after it come in their turn. */
async function turn() {
  const mine = (await acts()).filter((one) => one.about === about && one.state !== "aside");
  let open = false;
  for (const part of root.querySelectorAll("[data-part]")) {
    const form = /** @type {HTMLFormElement} */ (part.querySelector("form"));
    const operation = new FormData(form).get("operation");
    const kept = mine.some((one) => one.url === form.getAttribute("action")
      && (one.fields.find(([name]) => name === "operation")?.[1] ?? null) === operation);
    if (kept) done.add(part);
    part.toggleAttribute("data-done", done.has(part));
    /** @type {HTMLElement} */ (part).hidden = open && !done.has(part);
    open ||= !done.has(part);
  }
  for (const one of root.querySelectorAll(".turn")) {
    const said = find("[data-kept]", one);
    if (said) said.hidden = Boolean(one.querySelector("[data-part]:not([data-done]), .kept"));
  }
  const all = find("[data-all-kept]");
  if (all) all.hidden = open || !root.querySelector("[data-part]");
}

/** A defect leads to its usual loops; one alone needs no tap. @param {HTMLFormElement} form */
function lead(form) {
  const word = /** @type {HTMLInputElement | null} */ (form.querySelector("[name=word]:checked"));
  const usual = word?.dataset.loops?.split("|") ?? [];
  fill(form, "family", word?.dataset.family ?? "");
  for (const one of /** @type {NodeListOf<HTMLInputElement>} */ (form.querySelectorAll("[name=loop]"))) {
    const fits = usual.includes(one.value);
    if (one.parentElement) one.parentElement.hidden = !fits;
    one.checked = fits && (one.checked || usual.length === 1);
  }
  const loops = find("[data-loops]:not(input)", form);
  if (loops) loops.hidden = usual.length < 2;
  const depths = /** @type {HTMLFieldSetElement | null} */ (find("[data-depths]", form));
  if (depths) depths.hidden = depths.disabled = !form.querySelector("[name=loop][data-depth]:checked");
}

/** What is carried, drawn from what each kept page told of itself. */
async function list() {
  const row = /** @type {HTMLTemplateElement | null} */ (find("[data-row]"));
  const found = (row && (await ask({ list: true }))) || [];
  for (const one of found.sort((a, b) => (a.serial < b.serial ? -1 : 1))) {
    const item = /** @type {HTMLElement} */ (row?.content.cloneNode(true));
    find("a", item)?.setAttribute("href", `/${one.code}`);
    const told = { ...one, head: one.serial.slice(0, -4), last: one.serial.slice(-4), time: when(one.made) };
    for (const name of ["head", "last", "operation", "name", "spec", "time"]) {
      const place = find(`[data-${name}]`, item);
      if (place) place.textContent = told[name];
    }
    find("[data-list]")?.append(item);
  }
  find("[data-none]")?.toggleAttribute("hidden", found.length > 0);
}

// Never through the shop: it may not be reached.
addEventListener("submit", (event) => {
  const form = /** @type {HTMLFormElement} */ (event.target);
  if (!form.matches("[data-typed]")) return;
  event.preventDefault();
  const box = /** @type {HTMLInputElement} */ (form.elements.namedItem("code"));
  scanned(box.value);
  box.value = "";
}, true);
root.addEventListener("change", (event) => {
  const form = /** @type {Element} */ (event.target).closest("form");
  if (form?.matches("[data-defect]")) lead(form);
});
root.addEventListener("heelcap:kept", () => turn());
hear(() => turn());

void turn();
void list();
const gone = /^\/([0-9A-Z]{7})(\/|$)/.exec(location.pathname);
if (!about && gone) show("wrong", say("gone", gone[1]));
const name = /** @type {HTMLElement | null} */ (document.querySelector("[data-who]"));
if (name) name.textContent = (await get("who"))?.badge ?? "";
