/**
 * How fast this phone's hand scanner types: chosen with [data-gap] buttons, kept on the phone.
 */

const NAME = "heelcap.gap";
/** No hand types this fast; most scanners do. Common practice, no source. */
const USUAL = "60";

/** @returns {number} milliseconds between two keys of a scanner, at most */
export const gapMs = () => Number(localStorage.getItem(NAME) ?? USUAL);

const buttons = [...document.querySelectorAll("[data-gap]")];

function show() {
  for (const one of buttons) {
    one.setAttribute("aria-pressed", String(Number(one.getAttribute("data-gap")) === gapMs()));
  }
}

for (const one of buttons) {
  one.closest("section")?.removeAttribute("hidden");
  one.addEventListener("click", () => {
    localStorage.setItem(NAME, one.getAttribute("data-gap") ?? USUAL);
    show();
  });
}
show();
