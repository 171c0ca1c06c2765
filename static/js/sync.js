// sync: tells on every page what this phone still keeps, and sends it. On #sync:
//
//   data-ticket, data-who   who is signed in, "" for nobody; what is entered later carries it
//   data-one, data-more     the words for one entry and for {n}
//   [data-count]            the link that carries them
//   [data-refused] [data-plain]   on the page: nothing can be kept here; pages need TLS to open
//                                 without contact
//
// Tries on load, when something is kept, when the line or the page comes back, and by a timer.
// Pages for use without contact are fetched by the worker: see sw.js.

import * as store from './store.js';
import { changed, drain, whenChanged } from './queue.js';

const lately = 30_000; // what was told since makes the pages that are kept old

const show = (name) => {
  const line = document.querySelector(`[data-${name}]`);
  if (line) line.hidden = false;
};

const pages = async (signedIn) => {
  if (!('serviceWorker' in navigator)) {
    show('plain');
    return;
  }
  const told = Object.values(await store.note('told').catch(() => null) ?? {});
  const fresh = told.some((at) => Date.now() - at < lately) ? 'told' : 'cards';
  const ask = (worker) => worker?.postMessage(signedIn ? fresh : 'still');
  navigator.serviceWorker.addEventListener('controllerchange', () => ask(navigator.serviceWorker.controller));
  await navigator.serviceWorker.register('/sw.js', { updateViaCache: 'none' });
  ask((await navigator.serviceWorker.ready).active);
};

export default (box) => {
  const link = box.querySelector('[data-count]');
  const { ticket, who, one, more } = box.dataset;

  const count = async () => {
    const n = (await store.entries()).length + (await store.photoNames()).length;
    link.hidden = n === 0;
    link.textContent = n === 1 ? one : more.replace('{n}', n);
    box.closest('p').classList.toggle('who-kept', n > 0);
  };

  const start = async () => {
    if (ticket) {
      await store.setNote('who', { ticket, name: who });
      navigator.storage?.persist?.();
    }
    whenChanged(() => count());
    await count();
    for (const event of ['online', 'pageshow']) addEventListener(event, drain);
    document.addEventListener('visibilitychange', () => { if (!document.hidden) drain(); });
    await drain();
    changed();
  };

  addEventListener('pageshow', (event) => { if (event.persisted) location.reload(); });
  start().catch(() => show('refused'));
  const later = () => pages(Boolean(ticket)).catch((why) => console.warn('no pages without contact', why));
  if (document.readyState === 'complete') later();
  else addEventListener('load', later);
};
