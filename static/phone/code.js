/** What a scanned text must look like before anything is sent: a tag's seven symbols or their
 * address, or the address on the label of a bin or a lot, or on the card of a station. */

const CODE = /^[0-9A-Z]{4}-?[0-9A-Z]{3}$/;
const LABEL = /^HTTPS?:\/\/[^/?#]+\/(B(?:IN)?\/[0-9A-Z-]{1,8}|L(?:OT)?\/[0-9]{1,9}|AT\/[0-9A-Z-]{1,4})\/?$/;
const ADDRESS = /^HTTPS?:\/\/([^/?#]+)\/([0-9A-Z]{4}-?[0-9A-Z]{3})\/?$/;

/**
 * The code part of a tag of this shop, or the whole address of a tag of another place, which
 * the server names as such; the whole address of a label or card. "" for everything else. An address is never gone to.
 * @param {string} text
 * @returns {string}
 */
export function codeIn(text) {
  const upper = text.trim().toUpperCase();
  if (CODE.test(upper) || LABEL.test(upper)) return upper;
  const found = ADDRESS.exec(upper);
  if (!found) return "";
  return found[1] === location.host.toUpperCase() ? found[2] : upper;
}
