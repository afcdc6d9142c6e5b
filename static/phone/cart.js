/**
 * The tags of a cart, one after another: each read once, looked up, and listed with its sound.
 * The list outlives a reload; what the network kept back stays in it and is looked up later.
 */

import { give } from "./cue.js";

const AGAIN_MS = 20_000;
const ANSWER_MS = 8_000;

/** @param {string} mark @returns {HTMLElement} */
const part = (mark) => /** @type {HTMLElement} */ (document.querySelector(`[data-${mark}]`));
const list = part("cart");
const form = /** @type {HTMLFormElement} */ (part("typed"));
const count = part("count");
const unseen = /** @type {HTMLTemplateElement} */ (part("unseen"));
// Each badge has its own: rows are in its language and its units.
const name = `heelcap.cart.${list.dataset.cart}`;
let trying = false;

/** Let the worst that is new be heard, and keep the list: what comes back makes no sound. */
function keep() {
  give();
  sessionStorage.setItem(name, list.innerHTML.replace(/ (data-cue|role)="\w+"/g, ""));
  const rows = list.childElementCount;
  count.textContent = (count.dataset.sayCount ?? "").replace("{n}", String(rows));
  count.hidden = part("empty").hidden = !rows;
}

/**
 * Put what the shop says of a tag in the place of its row; false where it was not reached.
 * @param {HTMLElement} row @param {HeadersInit} [headers]
 */
async function look(row, headers) {
  const code = row.dataset.code ?? "";
  try {
    const answer = await fetch(`${list.dataset.look}?code=${encodeURIComponent(code)}`, {
      headers,
      signal: AbortSignal.timeout(ANSWER_MS),
    });
    if (!answer.ok) throw new Error(String(answer.status));
    const said = document.createElement("template");
    said.innerHTML = await answer.text();
    const next = /** @type {HTMLElement} */ (said.content.firstElementChild);
    next.dataset.code = code;
    row.replaceWith(next);
    return true;
  } catch {
    return false;
  }
}

/** @param {string} code @param {string} of @returns {string} words in the row of a code */
const words = (code, of) =>
  [...list.children].find((one) => one instanceof HTMLElement && one.dataset.code === code)
    ?.querySelector(of)?.textContent?.trim() ?? "";

/** @param {string} code */
async function add(code) {
  const before = words(code, ".on-cart-name");
  if (before) {
    part("said").textContent = (list.dataset.sayAgain ?? "").replace("{name}", before);
    return;
  }
  const copy = /** @type {DocumentFragment} */ (unseen.content.cloneNode(true));
  const row = /** @type {HTMLElement} */ (copy.firstElementChild);
  row.dataset.code = code;
  const shown = row.querySelector(".on-cart-name");
  if (shown) shown.textContent = code;
  list.prepend(row);
  keep();
  if (!(await look(row))) row.dataset.cue = "warn";
  keep();
  part("said").textContent = `${words(code, ".word")} · ${words(code, ".on-cart-name")}`;
}

/** Look up what is not looked up yet: asked by the page, so that no phone stays awake by it. */
async function again() {
  if (trying) return;
  trying = true;
  for (const row of list.querySelectorAll("[data-waits]")) {
    if (!(await look(/** @type {HTMLElement} */ (row), { "X-Fresh": "1" }))) break;
  }
  trying = false;
  keep();
}

list.innerHTML = sessionStorage.getItem(name) ?? "";
keep();
again();

form.addEventListener("submit", (event) => {
  event.preventDefault();
  const box = /** @type {HTMLInputElement} */ (form.elements.namedItem("code"));
  const code = box.value.trim();
  box.value = "";
  add(/^[0-9A-Z]{4}-[0-9A-Z]{3}$/.test(code) ? code.replace("-", "") : code);
});
part("empty").addEventListener("submit", (event) => {
  event.preventDefault();
  list.replaceChildren();
  keep();
});
addEventListener("online", again);
setInterval(() => !document.hidden && again(), AGAIN_MS);
