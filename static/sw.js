// The worker: opens the pages of sealers without contact. Before this text the server puts
//
//   build    names the assets of this version
//   assets   their addresses
//
// Policies, by what is asked:
//
//   /static/...          from the cache first; an address never changes its content
//   a page of a sealer   as it was kept, at once; a line that answers before anybody could see
//                        that comes first
//   /kept, /repair       the same
//   any other page       from the network; without contact, the list of what opens without
//   anything else        from the network; nothing of it is ever stored, nor any POST
//
// A page that is shown as it was kept asks for itself anew: {again: its address}. It is told
// {again, came} once the network has answered, or cannot, and then loads itself: that answer is
// what it gets. So it is the page that decides, which knows whether somebody is typing on it.
//
// What is kept comes from one answer, /cards, and from nowhere else: only as 200, not
// redirected, with our own header. It is fetched when a page of a signed-in person says "cards",
// or "told" after this phone has told something, and dropped when they sign out ("leave"), or
// when a page says "still" and the device was shut out. The entries that a phone keeps are none
// of its business: it never opens that store.

const shell = `tide-static-${build}`;
const kept = 'tide-cards';
const grace = 150; // what an eye takes for at once
const patience = 2_500; // where what was kept is not quite the page that was asked for
const limit = 20_000; // no line that answers later is one
const young = 5_000; // a question that is not asked once more
const lasts = 5_000; // an answer that a page was told of
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
let left = 0; // how often the pages were dropped
let leaving = ''; // the page on which somebody has just signed out

// coming holds answers until the page that waits for them fetches them, by address. They are in
// memory alone.
const coming = new Map();

const drop = () => {
  left += 1;
  last = 0;
  coming.clear();
  return caches.delete(kept);
};

const keepPages = async (message) => {
  if (message === 'cards' && Date.now() - last < often && await caches.has(kept)) return;
  const before = left;
  const asked = Date.now(); // what is told from now on may not be in the answer
  const reply = await fetch('/cards', { cache: 'no-store', headers: { Accept: 'application/json' } });
  if (reply.status === 401) {
    await drop();
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
  if (left !== before) {
    await drop();
    return;
  }
  last = asked;
  await cache.put('/cards/said', json({ as_of: said.as_of, at: asked }));
  await cleanUp();
};

// keptPage finds the page of an address as it was kept: with its pouch, else without, else the
// sealer's own. Only the first is the page itself; what follows a form says more than was kept.
const keptPage = async (address) => {
  const url = new URL(address);
  const pouch = url.searchParams.get('pouch');
  const [, place, code] = url.pathname.split('/');
  const itself = url.pathname + (pouch ? `?pouch=${pouch}` : '');
  const ways = [itself, url.pathname, place === 'S' ? `/S/${code}` : null];
  for (const way of ways.filter(Boolean)) {
    const found = await caches.match(way, { cacheName: kept });
    if (found) return { found, exact: way === url.pathname + url.search };
  }
  return { found: null, exact: false };
};

const opens = (url) => url.pathname.startsWith('/S/') || ['/kept', '/repair'].includes(url.pathname);

// fetched is the answer of the network, or null for none. Once it has begun to come it may take
// its time: it is perhaps read only later.
const fetched = async (request) => {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), limit);
  try {
    return await fetch(request, { cache: 'no-store', signal: stop.signal });
  } catch {
    return null;
  } finally {
    clearTimeout(timer);
  }
};

const remember = (address, answer) => {
  const entry = { answer, since: Date.now(), told: 0 };
  coming.set(address, entry);
  return entry;
};

// onItsWay is the answer of a line that was asked a moment ago.
const onItsWay = (address) => {
  const entry = coming.get(address);
  return entry && Date.now() - entry.since < young ? entry.answer : undefined;
};

// fetchTold gives, once, the answer that its page was told of a moment ago: it was made for who
// was signed in then.
const fetchTold = (address) => {
  const entry = coming.get(address);
  coming.delete(address);
  return entry && Date.now() - entry.told < lasts ? entry.answer : undefined;
};

const wait = (ms) => new Promise((done) => { setTimeout(done, ms); });

const openPage = async (request) => {
  const live = fetchTold(request.url) ?? fetched(request);
  const { found, exact } = await keptPage(request.url);
  if (!found) return (await live) ?? away();
  const first = await Promise.race([live, wait(exact ? grace : patience)]);
  if (first && first.status < 500) return first;
  if (first === undefined) remember(request.url, live);
  return found;
};

// again tells a page whether the network has answered for it.
const again = async ({ again: address }, page) => {
  const answer = onItsWay(address)
    ?? fetched(new Request(address, { redirect: 'manual', headers: { Accept: 'text/html' } }));
  const entry = remember(address, answer);
  const reply = await answer;
  const came = reply !== null && reply.status < 500;
  if (came) entry.told = Date.now();
  else coming.delete(address);
  page.postMessage({ again: address, came });
};

// away is what any other page is without contact.
const away = async () => (await caches.match('/away', { cacheName: kept })) ?? Response.error();

const otherPage = (request) => fetch(request).catch(away);

const cacheFirst = async (request) => (await caches.match(request)) ?? fetch(request);

addEventListener('install', (event) => event.waitUntil(fill().then(() => self.skipWaiting())));
addEventListener('activate', (event) => event.waitUntil(self.clients.claim()));

addEventListener('message', (event) => {
  const { data, source } = event;
  if (data?.again) {
    event.waitUntil(again(data, source));
    return;
  }
  if (data === 'leave') {
    leaving = source.id;
    event.waitUntil(drop());
  }
  if (source.id === leaving) return;
  const wanted = async () => ['cards', 'told'].includes(data) || (data === 'still' && await caches.has(kept));
  event.waitUntil(wanted().then((yes) => yes && keepPages(data)).catch(() => {}));
});

addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== location.origin) return;
  if (url.pathname === '/sign-in') coming.clear(); // it was made for somebody else
  if (url.pathname.startsWith('/static/')) event.respondWith(cacheFirst(request));
  else if (request.mode === 'navigate') event.respondWith(opens(url) ? openPage(request) : otherPage(request));
});
