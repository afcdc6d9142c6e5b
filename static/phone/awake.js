/**
 * The screen stays on while a step is open on it, where the phone can. Not while it is locked.
 */

/** @type {WakeLockSentinel | undefined} */
let held;
let asking = false;

async function hold() {
  const wanted = document.querySelector("[data-step-open]") && !document.querySelector("#lock > *");
  if (!wanted) return held?.release();
  if (asking || document.hidden || (held && !held.released)) return;
  asking = true;
  // Refused on a low battery, or before the first touch: then the screen goes dark as ever.
  held = await navigator.wakeLock?.request("screen").catch(() => undefined);
  asking = false;
}

for (const sign of ["visibilitychange", "pointerup", "htmx:afterSettle", "heelcap:locked"]) {
  document.addEventListener(sign, hold);
}
hold();
