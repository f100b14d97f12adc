// Keeps the build page on the phone, so that it loads without a connection. The server puts VERSION, HOME and FILES before this.
const MINE = `build ${HOME} `;
const NAME = MINE + VERSION;
const SHEETS = `${HOME}/sheets/`;
const WAIT_MS = 5000;

self.addEventListener("install", (event) => event.waitUntil(begin()));
self.addEventListener("activate", (event) => event.waitUntil(clear()));

async function begin() {
  const store = await caches.open(NAME);
  await store.addAll(FILES.map((file) => new Request(file, { cache: "reload" })));
  await keep(await fetch(HOME, { headers: { accept: "text/html" } }));
  await self.skipWaiting();
}

async function clear() {
  for (const name of await caches.keys()) if (name.startsWith(MINE) && name !== NAME) await caches.delete(name);
  await self.clients.claim();
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET") return;
  const url = new URL(request.url);
  if (url.origin !== location.origin) return;
  if (url.pathname === HOME && request.mode === "navigate") event.respondWith(page(event, request.url));
  else if (url.pathname.startsWith(SHEETS)) event.respondWith(file(request.url, request));
  else if (FILES.includes(url.pathname)) event.respondWith(file(url.pathname, request));
});

// The page as the server has it; the kept one where no answer comes.
async function page(event, url) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), WAIT_MS);
  try {
    const answer = await fetch(url, { headers: { accept: "text/html" }, redirect: "manual", signal: stop.signal });
    if (answer.status < 500) { event.waitUntil(keep(answer.clone()).catch(() => {})); return answer; }
  } catch { /* no connection: what was kept is shown */ } finally {
    clearTimeout(timer);
  }
  const kept = await (await caches.open(NAME)).match(HOME);
  return kept || new Response("No connection, and this page was not kept yet.", { status: 503, headers: { "content-type": "text/plain" } });
}

// Only a page with its plan is kept: not one that still waits, nor one of another kind. Its drawings are kept before it.
async function keep(answer) {
  if (!answer.ok || answer.redirected) return;
  const text = await answer.clone().text();
  if (!text.includes('id="build"')) return;
  const store = await caches.open(NAME);
  const wanted = [...text.matchAll(/ data-from="([^"]+)"/g)].map((found) => new URL(found[1].replaceAll("&amp;", "&"), location.origin).href);
  for (const sheet of wanted) if (!(await store.match(sheet))) await store.add(sheet);
  await store.put(HOME, new Response(text, { headers: answer.headers }));
  for (const { url } of await store.keys()) if (new URL(url).pathname.startsWith(SHEETS) && !wanted.includes(url)) await store.delete(url);
}

async function file(path, request) {
  return (await (await caches.open(NAME)).match(path)) || fetch(request);
}
