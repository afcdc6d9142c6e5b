/**
 * The camera of a scan page: shows the picture, finds one tag, fills the form and posts it.
 * It judges nothing: what a code means is the server's to say. All its words come from
 * data-say-… attributes of the page.
 */

import { codeIn } from "./code.js";

/** Milliseconds between two looks; a phone keeps cool at ten a second. */
const PAUSE_MS = 100;
/** Wider than this a picture costs time and reads no better. */
const WIDEST_PX = 1280;
/** This long without a picture, the other ways are offered. */
const DARK_AFTER_MS = 3000;
/** A camera that stays open takes a tag once for as long as it sees it, and this long after. */
const HELD_MS = 2000;
/** When the other ways come to the front. */
const BLIND = ["dark", "refused", "none", "unreadable", "insecure"];

/** @typedef {(video: HTMLVideoElement) => Promise<string>} Reader text of a tag, or "" */

/** @type {Map<string, Promise<Reader | null>>} by address of the fetched module */
const readers = new Map();
/** Set when the browser's own reader turned out not to work. */
let nativeFails = false;

const canvas = document.createElement("canvas");

/** @param {HTMLVideoElement} video @param {number} widest @returns {ImageData} */
function still(video, widest) {
  const scale = Math.min(1, widest / video.videoWidth);
  canvas.width = Math.round(video.videoWidth * scale);
  canvas.height = Math.round(video.videoHeight * scale);
  const brush = /** @type {CanvasRenderingContext2D} */ (
    canvas.getContext("2d", { willReadFrequently: true })
  );
  brush.drawImage(video, 0, 0, canvas.width, canvas.height);
  return brush.getImageData(0, 0, canvas.width, canvas.height);
}

/** @param {HTMLVideoElement} video @returns {boolean} whether anything but black is seen */
function seesLight(video) {
  return video.videoWidth > 0 && still(video, 32).data.some((level, at) => at % 4 !== 3 && level > 24);
}

/** @returns {Promise<Reader | null>} the browser's own reader, where it truly works */
async function nativeReader() {
  const Detector = /** @type {any} */ (window).BarcodeDetector;
  if (nativeFails || !Detector) return null;
  try {
    if (!(await Detector.getSupportedFormats()).includes("qr_code")) return null;
    const detector = new Detector({ formats: ["qr_code"] });
    return async (video) => {
      const found = await detector.detect(video);
      return found.length === 1 ? found[0].rawValue : "";
    };
  } catch {
    // Some systems name the reader and have no service behind it.
    nativeFails = true;
    return null;
  }
}

/** @param {HTMLElement} scanner @returns {Promise<Reader | null>} the fetched reader */
async function fetchedReader(scanner) {
  const { reader = "", wasm = "" } = scanner.dataset;
  if (!reader || !wasm || !("WebAssembly" in window)) return null;
  const zxing = await import(new URL(reader, location.href).href);
  zxing.prepareZXingModule({ overrides: { locateFile: () => wasm } });
  return async (video) => {
    const found = await zxing.readBarcodes(still(video, WIDEST_PX), {
      formats: ["QRCode"],
      maxNumberOfSymbols: 2,
    });
    // Two tags in the frame: which one is meant, only a hand can show.
    return found.length === 1 && found[0].isValid ? found[0].text : "";
  };
}

/** @param {HTMLElement} scanner @returns {Promise<Reader | null>} */
async function readerFor(scanner) {
  const own = await nativeReader();
  if (own) return own;
  const address = scanner.dataset.reader ?? "";
  if (!readers.has(address)) readers.set(address, fetchedReader(scanner));
  try {
    return (await readers.get(address)) ?? null;
  } catch {
    // The network may be back at the next tap.
    readers.delete(address);
    return null;
  }
}

/** One scan section of a page. */
class Scanner {
  /** @param {HTMLElement} root */
  constructor(root) {
    this.root = root;
    this.video = /** @type {HTMLVideoElement} */ (this.part("picture"));
    /** @type {MediaStream | null} */
    this.stream = null;
    /** Counts openings, so that a look begun before a closing ends there. */
    this.turn = 0;
    /** Was tapped open, whether a picture came or not. */
    this.wanted = false;
    /** Was closed only because the page went out of sight. */
    this.sleeping = false;
    /** Stays open from tag to tag. */
    this.stays = "stays" in root.dataset;
    this.held = "";
    this.heldAt = 0;
    this.part("open").hidden = false;
    this.part("open").addEventListener("click", () => this.open());
    this.part("close").addEventListener("click", () => this.close());
    this.part("torch").addEventListener("click", () => this.toggleTorch());
    root.querySelector("[data-photo]")?.addEventListener("change", (event) => {
      const form = /** @type {HTMLFormElement} */ (event.currentTarget);
      if (form.checkValidity()) form.requestSubmit();
    });
    root.addEventListener("submit", () => this.stays || this.close());
    this.part("instead")?.addEventListener("click", (event) => this.instead(event));
    if (!window.isSecureContext) {
      this.part("open").hidden = true;
      this.say("insecure");
    }
  }

  /** @param {string} name @returns {HTMLElement} */
  part(name) {
    return /** @type {HTMLElement} */ (this.root.querySelector(`[data-${name}]`));
  }

  /** @param {string} what */
  say(what) {
    const words = this.root.getAttribute(`data-say-${what}`) ?? "";
    const said = this.part("said");
    if (said.textContent !== words) said.textContent = words;
    this.root.dataset.state = what;
    const instead = this.part("instead");
    if (instead) instead.hidden = !BLIND.includes(what);
  }

  /** Another way is tapped. @param {Event} event */
  instead(event) {
    const way = event.target instanceof Element && event.target.closest("[data-to]");
    const field = way && document.getElementById(way.getAttribute("data-to") ?? "");
    if (!field) return;
    this.close();
    field.focus();
    field.click();
  }

  async open() {
    const turn = ++this.turn;
    this.wanted = true;
    this.say("opening");
    // Another program may have the camera, or the reader be on its way for ever.
    setTimeout(() => turn === this.turn && this.root.dataset.state === "opening" && this.say("dark"), DARK_AFTER_MS);
    const read = await readerFor(this.root);
    if (turn !== this.turn) return;
    if (!read) return this.say("unreadable");
    try {
      const stream = await navigator.mediaDevices.getUserMedia({
        audio: false,
        video: { facingMode: { ideal: "environment" }, width: { ideal: 1920 }, height: { ideal: 1080 } },
      });
      if (turn !== this.turn) return stop(stream);
      this.stream = stream;
      stream.getVideoTracks()[0].addEventListener("ended", () => {
        if (turn !== this.turn) return;
        this.close();
        this.say("none");
      });
      this.show(true);
      this.video.srcObject = stream;
      await this.video.play();
    } catch (trouble) {
      if (turn !== this.turn) return;
      this.close();
      const refused = trouble instanceof DOMException && trouble.name === "NotAllowedError";
      return this.say(refused ? "refused" : "none");
    }
    this.say("open");
    this.offerTorch();
    this.look(read, turn, performance.now(), false);
  }

  /**
   * Look at one picture, then again after a pause.
   * @param {Reader} read @param {number} turn @param {number} since without a picture @param {boolean} lit
   */
  async look(read, turn, since, lit) {
    if (turn !== this.turn) return;
    let seen = false;
    try {
      seen = !this.stream?.getVideoTracks()[0].muted && (lit || seesLight(this.video));
      const text = seen ? await read(this.video) : "";
      if (turn !== this.turn) return;
      if (text && this.take(text)) return;
    } catch {
      // A reader that fails once is replaced by the fetched one for as long as the page lives.
      if (turn !== this.turn) return;
      if (nativeFails || !("BarcodeDetector" in window)) {
        this.close();
        return this.say("unreadable");
      }
      nativeFails = true;
      this.close();
      return this.open();
    }
    const now = performance.now();
    if (!seen && now - since > DARK_AFTER_MS) this.say("dark");
    else if (seen && this.root.dataset.state === "dark") this.say("open");
    setTimeout(() => this.look(read, turn, seen ? now : since, seen), PAUSE_MS);
  }

  /** @param {string} text @returns {boolean} whether it was a code of our form */
  take(text) {
    if (this.stays) return this.gather(text);
    const code = codeIn(text);
    if (!code) {
      this.say("foreign");
      return false;
    }
    this.close();
    this.say("read");
    post(this.root, code);
    return true;
  }

  /** Take one tag of several: whatever it is, the page says so. @param {string} text */
  gather(text) {
    const now = performance.now();
    if (text !== this.held || now - this.heldAt > HELD_MS) post(this.root, codeIn(text) || text);
    this.held = text;
    this.heldAt = now;
    return false;
  }

  close() {
    this.turn += 1;
    this.wanted = this.sleeping = false;
    if (this.stream) stop(this.stream);
    this.stream = null;
    this.video.srcObject = null;
    this.show(false);
    if (["open", "opening", "foreign", "dark"].includes(this.root.dataset.state ?? "")) this.say("");
  }

  /** @param {boolean} on */
  show(on) {
    this.part("view").hidden = !on;
    this.part("close").hidden = !on;
    this.part("open").hidden = on;
    if (!on) this.part("torch").hidden = true;
  }

  offerTorch() {
    const track = this.stream?.getVideoTracks()[0];
    const can = /** @type {any} */ (track?.getCapabilities?.());
    this.part("torch").hidden = !can?.torch;
    this.part("torch").setAttribute("aria-pressed", "false");
  }

  async toggleTorch() {
    const on = this.part("torch").getAttribute("aria-pressed") !== "true";
    const wish = /** @type {any} */ ({ advanced: [{ torch: on }] });
    await this.stream?.getVideoTracks()[0]?.applyConstraints(wish);
    this.part("torch").setAttribute("aria-pressed", String(on));
  }

  /** The page goes out of sight or comes back: no camera runs unseen. */
  sight() {
    if (document.hidden) this.sleep();
    else if (this.sleeping) {
      this.sleeping = false;
      this.open();
    }
  }

  sleep() {
    const wanted = this.wanted || this.sleeping;
    this.close();
    this.sleeping = wanted;
  }
}

/** @param {MediaStream} stream */
function stop(stream) {
  for (const track of stream.getTracks()) track.stop();
}

/**
 * Put a code into a scan form and send it as a tap on its button would.
 * @param {ParentNode} where @param {string} code
 */
export function post(where, code) {
  const form = /** @type {HTMLFormElement | null} */ (where.querySelector("form[data-typed]"));
  const box = /** @type {HTMLInputElement | null} */ (form?.elements.namedItem("code"));
  if (!form || !box) return;
  box.value = code;
  form.requestSubmit();
}

// First of all that listen: what was typed or scanned into the box becomes the code in it.
addEventListener("submit", (event) => {
  const form = event.target;
  const box = form instanceof HTMLFormElement && form.matches("[data-typed]") && form.elements.namedItem("code");
  if (box instanceof HTMLInputElement) box.value = codeIn(box.value) || box.value;
}, true);

/** @type {Map<HTMLElement, Scanner>} */
const scanners = new Map();

/** Give every scan section its camera, and shut those whose section has left the page. */
function dress() {
  for (const [root, scanner] of scanners) {
    if (!root.isConnected) {
      scanner.close();
      scanners.delete(root);
    }
  }
  for (const root of document.querySelectorAll("[data-scanner]")) {
    const section = /** @type {HTMLElement} */ (root);
    if (!scanners.has(section)) scanners.set(section, new Scanner(section));
  }
}

dress();
document.addEventListener("htmx:afterSettle", dress);
const sight = () => scanners.forEach((scanner) => scanner.sight());
document.addEventListener("visibilitychange", sight);
addEventListener("pageshow", sight);
addEventListener("pagehide", () => scanners.forEach((scanner) => scanner.sleep()));
