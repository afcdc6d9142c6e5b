/** What a scanned text must look like before anything is sent: a tag's seven symbols or their
 * address, or the address on the label of a bin or a lot, or on the card of a station. */

const CODE = /^[0-9A-Z]{4}-?[0-9A-Z]{3}$/;
const LABEL = /^HTTPS?:\/\/[^/?#]+\/(B(?:IN)?\/[0-9A-Z-]{1,8}|L(?:OT)?\/[0-9]{1,9}|AT\/[0-9A-Z-]{1,4})\/?$/;
const ADDRESS = /^HTTPS?:\/\/([^/?#]+)\/([0-9A-Z]{4}-?[0-9A-Z]{3})\/?$/;
const SYMBOLS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";

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
  if (!found) return garbled(text);
  return found[1] === location.host.toUpperCase() ? found[2] : upper;
}

/**
 * A code whose hyphen, slashes and colons a reader set to another keyboard turned into other
 * characters: taken where it stands alone or behind this shop's address, and adds up.
 * @param {string} text
 */
function garbled(text) {
  const symbols = plain(text);
  const before = symbols.slice(0, -7);
  const ours = ["", plain(`http${location.host}`), plain(`https${location.host}`)];
  const code = symbols.slice(-7);
  return code.length === 7 && ours.includes(before) && addsUp(code) ? code : "";
}

/** @param {string} text its letters and figures, those that look alike made one */
const plain = (text) =>
  text.replace(/[^0-9A-Za-z]/g, "").toUpperCase().replaceAll("O", "0").replace(/[IL]/g, "1");

/** @param {string} code whether its last symbol is what the others come to, modulo 37 */
function addsUp(code) {
  const values = [...code].map((one) => SYMBOLS.indexOf(one));
  const check = values.pop();
  return !values.includes(-1) && values.reduce((sum, one) => (sum * 32 + one) % 37, 0) === check;
}
