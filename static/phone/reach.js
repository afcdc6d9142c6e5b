/** Asking the shop, which may not be there: each question ends, with an answer or without. */

/** How long the shop is given for an answer. */
export const ANSWER_MS = 8_000;

/** As a hand asks. @param {string} address @param {RequestInit} [how] Throws where the shop is not reached. */
export const reach = (address, how) =>
  fetch(address, { cache: "no-store", signal: AbortSignal.timeout?.(ANSWER_MS), ...how });

/** As a page asks by itself, which keeps no phone awake. @param {string} address @param {RequestInit} [how] */
export const asked = (address, { headers, ...how } = {}) =>
  reach(address, { headers: { "X-Fresh": "1", ...headers }, ...how });
