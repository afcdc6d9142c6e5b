/** The page of what waits on this phone: each act, and what a person may do about it. */
import { acts, alter, get } from "./store.js";
import { flush, hear, tell } from "./sender.js";
import { when, words } from "./words.js";

/** @typedef {import("./store.js").Entry} Entry */

/** @param {string} name @param {ParentNode} of @returns {HTMLElement} */
const part = (name, of = document) => /** @type {HTMLElement} */ (of.querySelector(`[data-${name}]`));
const list = part("list");
const told = part("said");
const row = /** @type {HTMLTemplateElement} */ (part("row"));
const [open, aside] = list.querySelectorAll("ol");

/** @param {Entry} one @param {boolean} behind a refusal @returns {Node} */
function drawn(one, behind) {
  const line = /** @type {HTMLElement} */ (row.content.firstElementChild?.cloneNode(true));
  const refused = one.state === "refused";
  line.classList.add(refused ? "finding-stop" : "finding-wait");
  part(refused ? "hourglass" : "stop", line).remove();
  const state = one.state !== "waiting" ? one.state : behind ? "behind" : one.tries > 1 ? "tried" : "waiting";
  const said = { ...one, state: words(list, state, { n: one.tries, when: when(one.aside ?? 0) }), captured: when(one.captured) };
  for (const name of /** @type {const} */ (["state", "says", "serial", "badge", "captured"])) part(name, line).textContent = said[name];
  part("why", line).replaceChildren(...(refused && !one.why.length ? [words(list, "unread")] : one.why).map((sentence) => {
    const item = document.createElement("li");
    item.textContent = sentence;
    return item;
  }));
  const way = /** @type {HTMLAnchorElement} */ (part("open", line));
  way.href = one.url.startsWith("/trays/") ? one.url : `/${one.about}`;
  way.textContent = words(list, "open", one);
  way.hidden = !one.about;
  part("put", line).hidden = one.state === "aside";
  part("sure", line).addEventListener("click", async () => {
    line.remove();
    await alter(one.seq, (now) => Object.assign(now, { state: "aside", aside: new Date().toISOString() }));
    tell({});
    void flush(true);
  });
  return line;
}

async function draw() {
  // A list drawn anew would fold up what a hand unfolded.
  if (list.querySelector("li details[open]")) return;
  const all = await acts();
  const stopped = new Set();
  const rows = all.filter((one) => one.state !== "aside").map((one) => {
    const behind = stopped.has(one.about);
    if (one.state === "refused" && one.about) stopped.add(one.about);
    return drawn(one, behind);
  });
  const put = all.filter((one) => one.state === "aside").map((one) => drawn(one, false));
  open.replaceChildren(...rows);
  aside.replaceChildren(...put);
  part("aside").hidden = !put.length;
  part("none").hidden = rows.length > 0;
  part("some").hidden = !all.length;
  list.hidden = false;
  part("who").textContent = (await get("who"))?.badge ?? "";
}

/** @param {File} photo @returns {Promise<unknown>} as it can stand in the file */
const plain = (photo) => new Promise((done) => {
  const reader = new FileReader();
  reader.onloadend = () => done({ name: photo.name, data: reader.result });
  reader.readAsDataURL(photo);
});

part("save").addEventListener("click", async () => {
  const all = [];
  // Without the proof of a badge: that is for this phone alone.
  for (const { proof, ...one } of await acts()) {
    const fields = one.fields.map(async ([name, value]) => [name, typeof value === "string" ? value : await plain(value)]);
    all.push({ ...one, fields: await Promise.all(fields) });
  }
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([JSON.stringify(all, null, 1)], { type: "application/json" }));
  link.download = `heelcap-${new Date().toISOString().slice(0, 16).replace(":", "")}.json`;
  link.click();
  told.textContent = words(told, "saved", { name: link.download });
});
part("now").addEventListener("click", () => flush(true));
hear(({ act, why }) => {
  if (why || act) told.textContent = why ? words(told, why) : "";
  part("signing").hidden = why !== "nobody";
  void draw();
});
void draw();
const lasts = await navigator.storage?.persist?.();
part("lasts").hidden = !lasts;
part("fleeting").hidden = Boolean(lasts);
