/**
 * What this phone keeps: acts until the shop has them, and what it knows of itself. A connection
 * is opened for each transaction, because a phone drops those it finds idle.
 */

/**
 * @typedef {object} Entry an act as it was tapped; moments are ISO 8601 by the phone's clock
 * @property {number} seq its place in the order of taps
 * @property {string} key @property {string} url @property {[string, string | File][]} fields
 * @property {string} about the tag of its instrument, or "" @property {string} serial
 * @property {string} says what waits, in words @property {string} captured
 * @property {string} badge @property {string} proof @property {string} station
 * @property {boolean} claimed whether the badge was chosen where no PIN could be looked at
 * @property {number | null} offset ms from the phone's clock to the shop's
 * @property {"waiting" | "refused" | "aside"} state @property {string[]} why
 * @property {number} tries @property {string | null} first @property {string} [aside]
 */

/** What was put aside is in the saved file for so long. */
const ASIDE_MS = 90 * 86_400_000;

/** @returns {Promise<IDBDatabase>} */
const open = () => new Promise((done, fail) => {
  const asked = indexedDB.open("heelcap", 1);
  asked.onupgradeneeded = () => {
    const { result } = asked;
    result.createObjectStore("acts", { keyPath: "seq", autoIncrement: true }).createIndex("key", "key", { unique: true });
    result.createObjectStore("phone");
  };
  asked.onsuccess = () => done(asked.result);
  asked.onerror = () => fail(asked.error);
});

/**
 * Do one thing in a transaction of its own.
 * @template T
 * @param {"readonly" | "readwrite"} mode
 * @param {(acts: IDBObjectStore, phone: IDBObjectStore) => IDBRequest<T>} work
 * @param {IDBTransactionDurability} [durability] @param {boolean} [again]
 * @returns {Promise<T>}
 */
async function within(mode, work, durability, again = true) {
  /** @type {IDBDatabase | undefined} */
  let base;
  try {
    base = await open();
    const change = base.transaction(["acts", "phone"], mode, { durability });
    const asked = work(change.objectStore("acts"), change.objectStore("phone"));
    await new Promise((done, fail) => {
      change.oncomplete = done;
      change.onabort = () => fail(change.error);
    });
    return asked.result;
  } catch (trouble) {
    // A connection that was lost under our hands; the same key twice is none.
    if (again && /** @type {Error} */ (trouble).name !== "ConstraintError") return within(mode, work, durability, false);
    throw trouble;
  } finally {
    base?.close();
  }
}

/** @param {string} key @returns {Promise<any>} what the phone knows by this name */
export const get = (key) => within("readonly", (_, phone) => phone.get(key));

/** @param {string} key @param {unknown} value */
export const put = (key, value) => within("readwrite", (_, phone) => phone.put(value, key));

/** @returns {Promise<Entry[]>} the acts tapped after this one, in order */
export const acts = (after = 0) => within("readonly", (all) => all.getAll(IDBKeyRange.lowerBound(after, true)));

/** @param {number} seq */
export const drop = (seq) => within("readwrite", (all) => all.delete(seq));

/**
 * Keep an act; done once it is on the disk. Throws ConstraintError where its key is kept already.
 * @param {(known: any) => Omit<Entry, "seq"> | null} made of what the phone knows: "who" was
 *   signed in, whose "claim" came after it, the "offset" of its clock; null is kept nowhere
 */
export const add = (made) => within("readwrite", (all, phone) => {
  const [who, claim, offset] = ["who", "claim", "offset"].map((key) => phone.get(key));
  offset.onsuccess = () => {
    const entry = made({ who: who.result ?? {}, claim: claim.result, offset: offset.result ?? null });
    if (entry) all.add(entry);
  };
  return offset;
}, "strict");

/**
 * Change an act, if it is still there and waits or was refused.
 * @param {number} seq @param {(entry: Entry) => void} how @returns {Promise<Entry | undefined>}
 */
export const alter = (seq, how) => within("readwrite", (all) => {
  const asked = all.get(seq);
  asked.onsuccess = () => {
    if (!asked.result || asked.result.state === "aside") return;
    how(asked.result);
    all.put(asked.result);
  };
  return asked;
});

/** Forget what was put aside long ago. */
export async function tidy() {
  for (const { seq, aside } of await acts()) if (aside && Date.now() - Date.parse(aside) > ASIDE_MS) await drop(seq);
}
