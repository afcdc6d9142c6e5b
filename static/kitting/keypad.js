/**
 * Big keys for a count or a weight. Without script the field is typed into.
 */

for (const keys of document.querySelectorAll("[data-keys][data-into][hidden]")) {
  const field = document.getElementById(keys.getAttribute("data-into") ?? "");
  if (!(field instanceof HTMLInputElement)) continue;
  keys.removeAttribute("hidden");
  // The phone's own keyboard would cover the keys.
  field.inputMode = "none";
  keys.addEventListener("click", (event) => {
    const key = event.target instanceof Element && event.target.closest("[data-key]")?.getAttribute("data-key");
    if (!key) return;
    field.value = key === "back" ? field.value.slice(0, -1) : (field.value + key).slice(0, field.maxLength);
  });
}
