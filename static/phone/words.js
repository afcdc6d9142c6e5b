/**
 * What scripts say: every sentence stands on the page, in a data-say-… attribute of the part it
 * belongs to; a script chooses one and fills its gaps.
 */

const WEEK_MS = 6 * 86_400_000;

/** @param {Element | null | undefined} of @param {string} name @param {object} [gaps] */
export const words = (of, name, gaps = {}) =>
  (of?.getAttribute(`data-say-${name}`) ?? "").replace(/{(\w+)}/g, (_, gap) => /** @type {any} */ (gaps)[gap] ?? "");

/** @param {string | number} moment @returns {string} "14:02", "Thu 14:02" of another day, or its date */
export function when(moment) {
  const at = new Date(moment);
  if (Date.now() - at.getTime() > WEEK_MS) return at.toISOString().slice(0, 10);
  const weekday = at.toDateString() === new Date().toDateString() ? undefined : "short";
  return at.toLocaleString(document.documentElement.lang, { weekday, hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
}
