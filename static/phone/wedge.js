/**
 * A hand scanner that types like a keyboard: very fast, then Enter. Outside text boxes its
 * keys are gathered here and posted through the page's scan form. How fast this phone's types is
 * chosen with [data-gap] buttons and kept on the phone.
 */

import { codeIn } from "./code.js";
import { post } from "./scanner.js";

const SHORTEST = 4;
const GAP = "heelcap.gap";
/** No hand types this fast; most scanners do. Common practice, no source. */
const USUAL = "60";

let keys = "";
let last = 0;

/** Milliseconds between two keys of a scanner, at most. */
const gap = () => localStorage.getItem(GAP) ?? USUAL;

/** @param {EventTarget | null} target @returns {boolean} */
function takesText(target) {
  return (
    target instanceof HTMLElement &&
    (target.isContentEditable || target.matches("input, textarea, select"))
  );
}

document.addEventListener(
  "keydown",
  (event) => {
    const away = takesText(event.target) || event.ctrlKey || event.altKey || event.metaKey;
    // A pad over the page is not the page.
    if (away || document.querySelector("#lock > *")) {
      keys = "";
      return;
    }
    const fast = event.timeStamp - last <= Number(gap());
    if (event.key === "Enter") {
      const text = fast ? keys : "";
      keys = "";
      if (text.length < SHORTEST || !document.querySelector("[data-scanner]")) return;
      // The same key would press the button that has the focus.
      event.preventDefault();
      event.stopPropagation();
      post(document, codeIn(text) || text);
      return;
    }
    if (event.key.length !== 1) return;
    keys = fast ? keys + event.key : event.key;
    last = event.timeStamp;
  },
  true,
);

const buttons = /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("[data-gap]"));

function show() {
  for (const one of buttons) one.ariaPressed = String(one.dataset.gap === gap());
}

for (const one of buttons) {
  one.closest("section")?.removeAttribute("hidden");
  one.addEventListener("click", () => {
    localStorage.setItem(GAP, one.dataset.gap ?? USUAL);
    show();
  });
}
show();
