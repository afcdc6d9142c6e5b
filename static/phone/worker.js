/**
 * Stands between the pages and the shop, for when the shop is not reached. Of pages it keeps only
 * those that name nobody and say so (X-Offline: shared).
 */

/** Its version and what it keeps, written in as it is served (shop/phone/installed.py). */
const SHOP = {};
const FILES = `static-${SHOP.version}`;
const PAGES = "pages-1";
const ANSWER_MS = 3_000;
const WARM_MS = 15_000;
const AT_ONCE = 4;
const TAG = /^\/([0-9A-Z]{7})(\/|$)/;
const SCANNED = /([0-9A-Z]{4})-?([0-9A-Z]{3})\/?$/;
/** Screens whose copy is shown when the shop takes long; others are waited for. */
const SCREENS = /^\/((scan|here|waiting|aside)\/|[0-9A-Z]{7})?$/;
const CARRIED = /^\/[0-9A-Z]{7}\/carried\/$/;
/** What a gate in front of the shop says when the shop itself is away. */
const AWAY = [502, 503, 504];

/** @param {Response} answer @returns {boolean} whether it may be kept for anybody */
const shareable = (answer) =>
  answer.ok && !answer.redirected && answer.headers.get("X-Offline") === "shared" &&
  !/no-store/.test(answer.headers.get("Cache-Control") ?? "");

/** Keep a page under its path alone: whose units and language it has is the last one's. */
const put = async (path, answer) => (await caches.open(PAGES)).put(path, answer);

/** @param {string} address @returns {Promise<boolean>} whether a copy of it is here */
async function keep(address) {
  const { pathname } = new URL(address, location.href);
  const pages = await caches.open(PAGES);
  try {
    // Asked by the phone itself: it keeps nobody signed in.
    const signal = AbortSignal.timeout(WARM_MS);
    const answer = await fetch(address, { cache: "no-store", headers: { "X-Fresh": "1" }, signal });
    if (shareable(answer)) await put(pathname, answer);
    else if ([404, 410].includes(answer.status)) await pages.delete(pathname);
  } catch { /* the copy that is here, if any, stays */ }
  return Boolean(await pages.match(pathname, { ignoreVary: true }));
}

/** @param {{ warm: string[], only?: boolean }} told `only`: all that is to be carried @returns {Promise<number>} of them here */
async function warm({ warm, only }) {
  if (only) {
    const wanted = new Set(warm.map((one) => new URL(one, location.href).pathname));
    const pages = await caches.open(PAGES);
    for (const { url } of await pages.keys()) {
      const { pathname } = new URL(url);
      if (CARRIED.test(pathname) && !wanted.has(pathname)) await pages.delete(url);
    }
  }
  const left = [...warm];
  let here = 0;
  const one = async () => {
    for (let next; (next = left.shift());) if (await keep(next)) here += 1;
  };
  await Promise.all(Array.from({ length: AT_ONCE }, one));
  await Promise.all(SHOP.pages.map(keep));
  return here;
}

/** @returns {Promise<object[]>} what is carried, as each page told of itself */
async function list() {
  const pages = await caches.open(PAGES);
  const found = [];
  for (const { url } of await pages.keys()) {
    const { pathname } = new URL(url);
    const told = CARRIED.test(pathname) && (await pages.match(url))?.headers.get("X-Carried");
    if (told) found.push({ code: pathname.slice(1, 8), ...JSON.parse(decodeURIComponent(told)) });
  }
  return found;
}

/** @param {URL} url @returns {Promise<Response | undefined>} the best there is of a page */
async function copy(url) {
  const scanned = url.pathname === "/scan/" && SCANNED.exec((url.searchParams.get("code") ?? "").toUpperCase());
  if (scanned) return Response.redirect(`/${scanned[1]}${scanned[2]}`);
  const pages = await caches.open(PAGES);
  const tag = TAG.exec(url.pathname);
  for (const path of [url.pathname, tag && `/${tag[1]}/carried/`, SHOP.pages[0]]) {
    const found = path && (await pages.match(path, { ignoreVary: true }));
    if (found) return found;
  }
}

/** @param {FetchEvent} event @param {URL} url */
async function page(event, url) {
  const asked = fetch(event.request);
  const late = new Promise((_, fail) => SCREENS.test(url.pathname) && setTimeout(fail, ANSWER_MS));
  try {
    const answer = await Promise.race([asked, late]);
    if (shareable(answer)) event.waitUntil(put(url.pathname, answer.clone()));
    return (AWAY.includes(answer.status) && (await copy(url))) || answer;
  } catch {
    return (await copy(url)) ?? asked;
  }
}

/** @param {Request} request */
async function file(request) {
  return (await caches.match(request, { ignoreVary: true })) ?? fetch(request);
}

addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin || request.headers.has("HX-Request")) return;
  if (url.pathname.startsWith("/static/")) event.respondWith(file(request));
  else if (request.mode === "navigate") event.respondWith(page(event, url));
});

addEventListener("install", (event) => event.waitUntil((async () => {
  await (await caches.open(FILES)).addAll(SHOP.files);
  await Promise.all(SHOP.pages.map(keep));
})()));

addEventListener("activate", (event) => event.waitUntil((async () => {
  // Pages that were carried before still ask for the files of the version before.
  const before = (await caches.keys()).filter((one) => one.startsWith("static-") && one !== FILES);
  for (const one of before.slice(0, -1)) await caches.delete(one);
  await clients.claim();
})()));

addEventListener("message", (event) => {
  const { data, ports: [port] } = event;
  if (data.take) skipWaiting();
  if (data.warm) event.waitUntil(warm(data).then((here) => port.postMessage(here)));
  if (data.list) event.waitUntil(list().then((found) => port.postMessage(found)));
});
