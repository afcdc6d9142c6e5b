// Locks the phone after idle time: the PIN pad is laid over the page, which stays as it is.
import "./keypad.js";

const idleMs = Number(document.body.dataset.idleS) * 1000;
const pad = document.body.dataset.pad;
const cover = document.getElementById("lock");
let last = Date.now();

/** Ask for the pad a little before the server stops knowing the badge. */
async function lock() {
  if (!cover || !pad || cover.childElementCount) return;
  const token = document.querySelector("input[name=csrfmiddlewaretoken]");
  const form = new FormData();
  if (token instanceof HTMLInputElement) form.set("csrfmiddlewaretoken", token.value);
  try {
    const answer = await fetch(pad, { method: "POST", body: form, headers: { "HX-Request": "true" } });
    cover.innerHTML = await answer.text();
    window.htmx.process(cover);
    cover.dispatchEvent(new CustomEvent("htmx:afterSwap", { bubbles: true }));
  } catch {
    // No network: the server forgets the badge by itself; the page stays readable.
    last = Date.now();
  }
}

/** @type {HTMLElement | null} what on the page last had the focus */
let held = null;
document.addEventListener("focusin", (event) => {
  if (event.target instanceof HTMLElement && !cover?.contains(event.target)) held = event.target;
});

/** While the pad lies over the page, nothing under it takes a key or a tap. */
function seal() {
  const locked = Boolean(cover?.childElementCount);
  for (const one of document.body.children) {
    if (one !== cover && one instanceof HTMLElement) one.inert = locked;
  }
  if (!locked) held?.focus();
}

if (cover) new MutationObserver(seal).observe(cover, { childList: true });

for (const sign of ["pointerdown", "keydown", "scroll"]) {
  document.addEventListener(sign, () => { last = Date.now(); }, { passive: true });
}
// Whatever the server answers tells it somebody is here; so the two clocks agree.
document.addEventListener("htmx:afterRequest", () => { last = Date.now(); });
setInterval(() => { if (Date.now() - last > idleMs - 5000) void lock(); }, 1000);
