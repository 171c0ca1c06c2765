// The worker: opens the pages of sealers without contact. Before this text the server puts
//
//   build    names the assets of this version
//   assets   their addresses
//
// Policies, by what is asked:
//
//   /static/...          from the cache first; an address never changes its content
//   a page of a sealer   from the network; after a short wait, or without contact, as it was kept
//   /kept, /repair       the same
//   anything else        from the network; nothing of it is ever stored, nor any POST
//
// What is kept comes from one answer, /cards, and from nowhere else: only as 200, not
// redirected, with our own header. It is fetched when a page of a signed-in person says "cards",
// and dropped when they sign out, or when a page says "still" and the device was shut out. The entries that a phone keeps are none of its business: it
// never opens that store.

const shell = `tide-static-${build}`;
const kept = 'tide-cards';
const patience = 2_500;
const often = 30_000;

const whole = (reply) => reply.status === 200 && !reply.redirected && reply.type === 'basic';

const fill = async () => {
  const cache = await caches.open(shell);
  await Promise.all(assets.map(async (address) => {
    if (await cache.match(address)) return;
    const reply = await fetch(address);
    if (!whole(reply)) throw new Error(`${address}: ${reply.status}`);
    await cache.put(address, reply);
  }));
};

// cleanUp drops the assets of other versions. It waits until pages of this one are kept: those
// of the last version need theirs.
const cleanUp = async () => {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith('tide-static-') && name !== shell)
    .map((name) => caches.delete(name)));
};

const page = (html) => new Response(html, { headers: {
  'Content-Type': 'text/html; charset=utf-8',
  'Content-Security-Policy': policy,
  'X-Content-Type-Options': 'nosniff',
} });

const json = (value) => new Response(JSON.stringify(value), { headers: { 'Content-Type': 'application/json' } });

let last = 0;

const keepPages = async (message) => {
  if (message === 'cards' && Date.now() - last < often && await caches.has(kept)) return;
  const reply = await fetch('/cards', { cache: 'no-store', headers: { Accept: 'application/json' } });
  if (reply.status === 401) {
    await caches.delete(kept);
    return;
  }
  if (!whole(reply) || reply.headers.get('X-Tide-Cards') !== '1') return;
  const said = await reply.json();
  if (said.build !== build) {
    await registration.update();
    return;
  }
  const cache = await caches.open(kept);
  const now = new Set(said.pages.map(({ url }) => new URL(url, location.origin).href));
  for (const { url, html } of said.pages) await cache.put(url, page(html));
  for (const old of await cache.keys()) {
    if (!now.has(old.url)) await cache.delete(old);
  }
  await cache.put('/cards/said', json({ as_of: said.as_of }));
  last = Date.now();
  await cleanUp();
};

// keptPage finds the page of an address as it was kept: with its pouch, else without, else the
// sealer's own.
const keptPage = async (address) => {
  const cache = await caches.open(kept);
  const url = new URL(address);
  const pouch = url.searchParams.get('pouch');
  const [, place, code] = url.pathname.split('/');
  const ways = [pouch ? `${url.pathname}?pouch=${pouch}` : null, url.pathname, place === 'S' ? `/S/${code}` : null];
  for (const way of ways.filter(Boolean)) {
    const found = await cache.match(way);
    if (found) return found;
  }
  return undefined;
};

const opens = (url) => url.pathname.startsWith('/S/') || ['/kept', '/repair'].includes(url.pathname);

const networkFirst = async (request) => {
  const stop = new AbortController();
  const live = fetch(request, { signal: stop.signal });
  live.catch(() => {});
  const slow = new Promise((done) => { setTimeout(done, patience); });
  const first = await Promise.race([live.catch(() => null), slow]);
  if (first) return first;
  const found = await keptPage(request.url);
  if (!found) return live;
  stop.abort();
  return found;
};

const cacheFirst = async (request) => (await caches.match(request)) ?? fetch(request);

addEventListener('install', (event) => event.waitUntil(fill().then(() => self.skipWaiting())));
addEventListener('activate', (event) => event.waitUntil(self.clients.claim()));

addEventListener('message', (event) => {
  const wanted = async () => event.data === 'cards' || (event.data === 'still' && await caches.has(kept));
  event.waitUntil(wanted().then((yes) => yes && keepPages(event.data)).catch(() => {}));
});

addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== location.origin) return;
  if (url.pathname.startsWith('/static/')) event.respondWith(cacheFirst(request));
  else if (request.mode === 'navigate' && opens(url)) event.respondWith(networkFirst(request));
});
