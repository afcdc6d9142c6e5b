/**
 * The two keys of a number, one fewer and one more, for a gloved thumb. Without script the
 * figure is typed, or the key asks the server.
 */

for (const key of document.querySelectorAll("[data-stepper] [data-step][hidden]")) {
  if (key instanceof HTMLElement) key.hidden = false;
}

// Heard on the whole page: what is swapped in later has its keys too.
document.addEventListener("click", (event) => {
  const key = event.target instanceof Element ? event.target.closest("[data-stepper] [data-step]") : null;
  const field = key?.parentElement?.querySelector("input");
  if (!key || !field) return;
  event.preventDefault();
  const to = (Number.parseInt(field.value, 10) || 0) + Number(key.getAttribute("data-step"));
  field.value = String(Math.min(Number(field.max), Math.max(Number(field.min), to)));
});
