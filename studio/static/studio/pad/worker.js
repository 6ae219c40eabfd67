// Keeps the pad on the tablet, so that it opens again while the network is away.
//
// The parts (scripts, styles, figures) tell nothing of anybody. A pad's page does: it is kept for one member alone,
// no longer than her session can live, and forgotten when anybody signs out, signs in or changes the studio.
// What was typed is not here: see store.js.

const PARTS = "pad-parts-1";
const PAGES = "pad-pages-";
const PAD = /^\/clients\/[0-9a-f-]{36}\/pad\/$/;
const FIGURE = /^\/pad\/figures\//;
const DOOR = /^\/(sign-in|sign-out|studios|begin|join)\//;
const PATIENCE = 4000;

addEventListener("install", () => skipWaiting());

addEventListener("activate", (event) => {
  const old = async () => {
    for (const name of await caches.keys()) {
      if (name.startsWith("pad-parts-") && name !== PARTS) await caches.delete(name);
    }
    await clients.claim();
  };
  event.waitUntil(old());
});

addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== location.origin) return;
  if (request.mode === "navigate" && DOOR.test(url.pathname)) event.waitUntil(forget());
  else if (request.method !== "GET") return;
  else if (request.mode === "navigate" && PAD.test(url.pathname)) event.respondWith(page(event, url));
  else if (FIGURE.test(url.pathname)) event.respondWith(figure(request));
  else if (url.pathname.startsWith("/static/")) event.respondWith(part(request));
});

addEventListener("message", (event) => {
  if (event.data?.keep) event.waitUntil(keepAll(event.data, event.source));
  if (event.data?.forget) event.waitUntil(forget());
});

async function forget(but = "") {
  for (const name of await caches.keys()) {
    if (name.startsWith(PAGES) && name !== but) await caches.delete(name);
  }
  if (but) return;
  for (const client of await clients.matchAll({ type: "window", includeUncontrolled: true })) {
    if (PAD.test(new URL(client.url).pathname)) client.postMessage({ pad: "left" });
  }
}

const inTime = (answer) =>
  Promise.race([answer, new Promise((_, late) => setTimeout(() => late(new Error("late")), PATIENCE))]);

async function page(event, url) {
  const fresh = fetch(event.request).then(async (answer) => {
    if (answer.ok) await keepPage(url.pathname, answer.clone());
    else if (answer.status < 500) await dropPage(url.pathname);
    return answer;
  });
  event.waitUntil(fresh.catch(() => {}));
  const kept = await keptPage(url.pathname);
  try {
    const answer = await (kept ? inTime(fresh) : fresh);
    return answer.status >= 500 && kept ? kept : answer;
  } catch {
    return kept ?? notOnBoard();
  }
}

async function keepPage(path, answer) {
  const member = answer.headers.get("X-Pad-Member");
  if (!member) return;
  await forget(PAGES + member);
  await (await caches.open(PAGES + member)).put(path, answer);
}

async function dropPage(path) {
  for (const name of await caches.keys()) {
    if (name.startsWith(PAGES)) await (await caches.open(name)).delete(path);
  }
}

async function keptPage(path) {
  for (const name of await caches.keys()) {
    if (!name.startsWith(PAGES)) continue;
    const answer = await (await caches.open(name)).match(path);
    if (!answer) continue;
    if (Date.now() < Date.parse(answer.headers.get("X-Pad-Until"))) return answer;
    await dropPage(path);
  }
  return null;
}

function notOnBoard() {
  const words =
    '<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">' +
    "<title>No network</title><h1>No network</h1><p>This page is not kept on this tablet. What was typed on a pad " +
    "is: it is shown to whoever typed it, once she is signed in.</p>";
  return new Response(words, { status: 503, headers: { "Content-Type": "text/html; charset=utf-8" } });
}

// Figures hardly ever change: what is kept is shown.
async function figure(request) {
  const cache = await caches.open(PARTS);
  const kept = await cache.match(request);
  if (kept) return kept;
  const answer = await fetch(request);
  if (answer.ok && !answer.redirected) await cache.put(request, answer.clone());
  return answer;
}

// Scripts and styles: fresh ones where the network is there, so that page and parts fit together.
async function part(request) {
  const cache = await caches.open(PARTS);
  const kept = await cache.match(request);
  if (!kept) return fetch(request);
  try {
    const answer = await inTime(fetch(request));
    if (answer.ok) await cache.put(request, answer.clone());
    return answer.ok ? answer : kept;
  } catch {
    return kept;
  }
}

// Asked for by an open pad: fetch what it stands on. `parts` are addresses, `page` is its own.
async function keepAll({ parts, page: address }, source) {
  const cache = await caches.open(PARTS);
  const keep = async (part) => {
    if (FIGURE.test(new URL(part, location.href).pathname) && (await cache.match(part))) return;
    const answer = await fetch(part);
    if (!answer.ok || answer.redirected) throw new Error(`${part} can't be kept`);
    await cache.put(part, answer);
  };
  try {
    for (let start = 0; start < parts.length; start += 6) await Promise.all(parts.slice(start, start + 6).map(keep));
    if (!(await keptPage(address))) {
      const answer = await fetch(address, { credentials: "same-origin", redirect: "manual" });
      if (answer.ok) await keepPage(address, answer);
    }
    source?.postMessage({ pad: (await keptPage(address)) ? "on board" : "not on board" });
  } catch {
    source?.postMessage({ pad: "not on board" });
  }
}
