/**
 * One more, one fewer, with a gloved thumb. Without script the figure is typed.
 */

for (const stepper of document.querySelectorAll("[data-stepper]")) {
  const field = stepper.querySelector("input");
  if (!field) continue;
  for (const button of stepper.querySelectorAll("button")) button.hidden = false;
  stepper.addEventListener("click", (event) => {
    const step = event.target instanceof Element && event.target.closest("[data-step]")?.getAttribute("data-step");
    if (!step) return;
    const to = (Number.parseInt(field.value, 10) || 0) + Number(step);
    field.value = String(Math.min(Number(field.max), Math.max(Number(field.min), to)));
  });
}
