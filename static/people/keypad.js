// The big keypad fills the PIN field; without script the field is typed into.

/** @param {ParentNode} root */
function furnish(root) {
  for (const keys of root.querySelectorAll("[data-keys][hidden]")) {
    const form = keys.closest("form");
    const pin = form?.querySelector("input[name=pin]");
    if (!form || !(pin instanceof HTMLInputElement)) continue;
    keys.removeAttribute("hidden");
    form.querySelector("[data-plain]")?.setAttribute("hidden", "");
    // The phone's own keyboard would cover the keys.
    pin.setAttribute("inputmode", "none");
    keys.addEventListener("click", (event) => {
      const key = /** @type {HTMLElement} */ (event.target).closest("[data-key]")?.getAttribute("data-key");
      if (!key) return;
      pin.value = key === "back" ? pin.value.slice(0, -1) : (pin.value + key).slice(0, pin.maxLength);
    });
    pin.focus();
  }
}

furnish(document);
document.addEventListener("htmx:afterSwap", (event) => furnish(/** @type {Element} */ (event.target)));
