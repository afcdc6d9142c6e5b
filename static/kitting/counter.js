/**
 * The two keys of a number: one less, one more. Without script the server counts instead.
 */

document.addEventListener("click", (event) => {
  const key = event.target instanceof Element ? event.target.closest("[data-counter] [data-step]") : null;
  const field = key?.parentElement?.querySelector("input");
  if (!key || !field) return;
  event.preventDefault();
  const more = Number(field.value || 0) + Number(key.getAttribute("data-step"));
  field.value = String(Math.min(Number(field.max), Math.max(Number(field.min), more)));
});
