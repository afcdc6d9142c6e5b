/**
 * The check of the posts: a hand scanner or a keypad answers for the post asked, wherever the
 * focus is, and a photo is shown as soon as it is taken.
 */

/** What a mark is written with: the string's figure, o for octave, ' for the second. */
const SIGN = /^[0-9oO'’]$/;

/** @param {EventTarget | null} target @returns {boolean} */
function takesText(target) {
  return (
    target instanceof HTMLElement &&
    target.matches("input:not([type=radio], [type=file]), textarea, select")
  );
}

document.addEventListener(
  "keydown",
  (event) => {
    if (takesText(event.target) || event.ctrlKey || event.altKey || event.metaKey) return;
    if (document.querySelector("#lock > *")) return;
    const form = /** @type {HTMLFormElement | null} */ (
      document.querySelector("form[data-typed-mark]")
    );
    const box = /** @type {HTMLInputElement | null} */ (form?.elements.namedItem("mark"));
    if (!form || !box) return;
    if (SIGN.test(event.key)) {
      box.value += event.key;
    } else if (event.key === "Enter" && box.value) {
      // The same key would press the button that has the focus.
      event.preventDefault();
      event.stopPropagation();
      form.requestSubmit();
    }
  },
  true,
);

document.addEventListener("change", (event) => {
  const input = event.target;
  if (!(input instanceof HTMLInputElement) || input.type !== "file") return;
  const taken = /** @type {HTMLImageElement | null} */ (
    input.form?.querySelector("[data-just-taken]") ?? null
  );
  if (!taken) return;
  if (taken.src) URL.revokeObjectURL(taken.src);
  const photo = input.files?.[0];
  taken.hidden = !photo;
  if (photo) taken.src = URL.createObjectURL(photo);
});
