/**
 * A hand scanner that types like a keyboard: very fast, then Enter. Outside text boxes its
 * keys are gathered here and posted through the page's scan form.
 */

import { codeIn } from "./code.js";
import { gapMs } from "./gap.js";
import { post } from "./scanner.js";

const SHORTEST = 4;

let keys = "";
let last = 0;

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
    if (takesText(event.target) || event.ctrlKey || event.altKey || event.metaKey) {
      keys = "";
      return;
    }
    const fast = event.timeStamp - last <= gapMs();
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
