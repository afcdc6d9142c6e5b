/**
 * A tapped post of the head tells its sentence in the line over the drawing, and keeps a frame
 * until the next is tapped. Without this module its link leads to the same sentence below.
 */

/** @param {SVGAElement} link @returns {Element | null} the sentence a post's link leads to */
function sentenceOf(link) {
  return document.getElementById(link.href.baseVal.slice(1));
}

document.addEventListener("click", (event) => {
  const link = event.target instanceof Element && event.target.closest(".head-taps a");
  if (!(link instanceof SVGAElement)) return;
  const line = link.closest("[data-posts]")?.querySelector("[data-said]");
  const sentence = sentenceOf(link);
  if (!line || !sentence) return;
  event.preventDefault();
  line.textContent = sentence.textContent;
  link.parentElement?.querySelector("[aria-current]")?.removeAttribute("aria-current");
  link.setAttribute("aria-current", "true");
});
