// Keeps the form of a visit, so that a telephone opens it again where there is no signal. Nothing else is kept: no
// answer of the API, no other page, nothing that was sent. Who signs in or out leaves nothing behind.
"use strict";
const KEPT = "etsched visits", FORM = /^\/sites\/[^/]+\/visit$/, FILE = /^\/static\//, DOOR = /^\/sign-(in|out)$/;
const PATIENCE_MS = 6000; // a signal too weak for a page is none (common practice, no source)
let era = 0; // a page that was asked for before somebody signed out must not be kept after it

const forget = () => {
  era += 1;
  return caches.delete(KEPT);
};

const keep = async (path, answer, began) => {
  const files = [...(await answer.clone().text()).matchAll(/="(\/static\/[^"]+)"/g)].map(([, address]) => address);
  const kept = await caches.open(KEPT);
  const missing = [];
  for (const file of new Set(files)) if (!await kept.match(file)) missing.push(file);
  if (era !== began) return;
  await kept.addAll(missing);
  if (era === began) await kept.put(path, answer);
};

const isForm = (answer) => answer.ok && !answer.redirected && answer.type === "basic";

const open = async (event, path) => {
  const began = era;
  const asked = fetch(event.request).then((answer) => {
    if (isForm(answer)) event.waitUntil(keep(path, answer.clone(), began).catch(() => {}));
    else if (answer.status < 500) event.waitUntil(forget()); // the session is over, or the property is theirs no more
    return answer;
  });
  event.waitUntil(asked.catch(() => {}));
  const kept = await caches.match(path, { cacheName: KEPT });
  if (!kept) return asked;
  const last = () => (era === began ? kept : Response.error());
  const tired = new Promise((wake) => { setTimeout(() => wake(last()), PATIENCE_MS); });
  return Promise.race([asked.then((answer) => (answer.status < 500 ? answer : last()), last), tired]);
};

const file = async (request) => await caches.match(request, { cacheName: KEPT }) ?? fetch(request);

addEventListener("install", () => { skipWaiting(); });
addEventListener("activate", (event) => { event.waitUntil(clients.claim()); });
addEventListener("fetch", (event) => {
  const { request } = event, { origin, pathname } = new URL(request.url);
  if (origin !== location.origin) return;
  if (DOOR.test(pathname)) event.waitUntil(forget());
  else if (request.method !== "GET") return;
  else if (request.mode === "navigate" && FORM.test(pathname)) event.respondWith(open(event, pathname));
  else if (FILE.test(pathname)) event.respondWith(file(request));
});
// The first form was on the screen before this worker ran.
addEventListener("message", (event) => {
  const path = new URL(event.source.url).pathname, began = era;
  if (!FORM.test(path)) return;
  event.waitUntil((async () => {
    if (await caches.match(path, { cacheName: KEPT })) return;
    const answer = await fetch(path);
    if (isForm(answer)) await keep(path, answer, began);
  })().catch(() => {}));
});
