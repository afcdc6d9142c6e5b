/**
 * The tags of a cart, one after another: each read once, looked up, and listed with its sound.
 * The list outlives a reload; what the network kept back stays in it and is looked up later.
 */

import { asked, reach } from "./reach.js";
import { give } from "./cue.js";
import { words } from "./words.js";

const AGAIN_MS = 20_000;

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
  count.textContent = words(count, "count", { n: rows });
  count.hidden = part("empty").hidden = !rows;
}

/**
 * Put what the shop says of a tag in the place of its row; false where it was not reached.
 * @param {HTMLElement} row @param {typeof reach} ask
 */
async function look(row, ask) {
  const code = row.dataset.code ?? "";
  try {
    const answer = await ask(`${list.dataset.look}?code=${encodeURIComponent(code)}`);
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
const told = (code, of) =>
  [...list.children].find((one) => one instanceof HTMLElement && one.dataset.code === code)
    ?.querySelector(of)?.textContent?.trim() ?? "";

/** @param {string} code */
async function add(code) {
  const name = told(code, ".on-cart-name");
  if (name) {
    part("said").textContent = words(list, "again", { name });
    return;
  }
  const copy = /** @type {DocumentFragment} */ (unseen.content.cloneNode(true));
  const row = /** @type {HTMLElement} */ (copy.firstElementChild);
  row.dataset.code = code;
  const shown = row.querySelector(".on-cart-name");
  if (shown) shown.textContent = code;
  list.prepend(row);
  keep();
  if (!(await look(row, reach))) row.dataset.cue = "warn";
  keep();
  part("said").textContent = `${told(code, ".word")} · ${told(code, ".on-cart-name")}`;
}

/** Look up what is not looked up yet: asked by the page, so that no phone stays awake by it. */
async function again() {
  if (trying) return;
  trying = true;
  for (const row of list.querySelectorAll("[data-waits]")) {
    if (!(await look(/** @type {HTMLElement} */ (row), asked))) break;
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
