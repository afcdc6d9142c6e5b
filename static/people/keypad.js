/**
 * Big keys for a PIN, a count or a weight. Without script the field is typed into.
 */

/** @param {ParentNode} root */
function furnish(root) {
  for (const keys of root.querySelectorAll("[data-keys][hidden]")) {
    const into = keys.getAttribute("data-into");
    const form = keys.closest("form");
    const field = into ? document.getElementById(into) : form?.querySelector("input[name=pin]");
    if (!(field instanceof HTMLInputElement)) continue;
    keys.removeAttribute("hidden");
    // The phone's own keyboard would cover the keys.
    field.inputMode = "none";
    keys.addEventListener("click", (event) => {
      const key = /** @type {HTMLElement} */ (event.target).closest("[data-key]")?.getAttribute("data-key");
      if (!key) return;
      field.value = key === "back" ? field.value.slice(0, -1) : (field.value + key).slice(0, field.maxLength);
    });
    if (into) continue;
    form?.querySelector("[data-plain]")?.setAttribute("hidden", "");
    field.focus();
  }
}

furnish(document);
document.addEventListener("htmx:afterSwap", (event) => furnish(/** @type {Element} */ (event.target)));
