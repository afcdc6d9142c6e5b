/** What a tag's text must look like before anything is sent: seven symbols, or their address. */

const CODE = /^[0-9A-Z]{4}-?[0-9A-Z]{3}$/;
const ADDRESS = /^HTTPS?:\/\/([^/?#]+)\/([0-9A-Z]{4}-?[0-9A-Z]{3})\/?$/;

/**
 * The code part of a tag of this shop, or the whole address of a tag of another place, which
 * the server names as such. "" for everything else. An address is never gone to.
 * @param {string} text
 * @returns {string}
 */
export function codeIn(text) {
  const upper = text.trim().toUpperCase();
  if (CODE.test(upper)) return upper;
  const found = ADDRESS.exec(upper);
  if (!found) return "";
  return found[1] === location.host.toUpperCase() ? found[2] : upper;
}
