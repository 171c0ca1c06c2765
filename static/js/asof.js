// asof: a page that a phone kept, opened without contact.
//
//   data-ends     until when a Ready may be told at all
//   data-sealer   the code of its label
//   [data-known]  the band as it was known, shown instead of the cautious one before it only
//                 while that is allowed and nothing kept here speaks against it
//   [data-asof]   when the server last said so
//   [data-as] [data-name], [data-says]   whose entries these will be; where nobody is signed in,
//                 a name is asked for
//
// The newest page replaces it as soon as there is contact: see again.js.

import * as store from './store.js';
import { sealerOf, whenChanged } from './queue.js';

export default (box) => {
  const known = document.querySelector('[data-known]');
  const about = (code) => ['', box.dataset.sealer].includes(code);
  const said = caches.match('/cards/said').then((reply) => reply?.json()).catch(() => null);

  // judge lets the page say Ready only for a while, and not against what this phone has told
  // since, sent or not.
  const judge = async () => {
    if (!known) return;
    const kept = await store.entries().catch(() => []);
    const told = await store.note('told').catch(() => null) ?? {};
    const since = (await said)?.at ?? 0;
    const later = Object.entries(told).some(([code, at]) => about(code) && at > since);
    const good = Date.now() < Date.parse(box.dataset.ends) && !later && !kept.some((entry) => about(sealerOf(entry)));
    known.hidden = !good;
    known.previousElementSibling.hidden = good;
  };

  const saidAt = async () => {
    const { as_of } = await said ?? {};
    if (as_of) for (const place of document.querySelectorAll('[data-asof]')) place.textContent = as_of;
  };

  const whose = async () => {
    const who = await store.note('who').catch(() => null);
    if (who?.ticket) {
      document.querySelector('[data-name]').textContent = who.name;
      document.querySelector('[data-as]').hidden = false;
    } else {
      document.querySelector('[data-says]').open = true;
    }
  };

  document.addEventListener('visibilitychange', () => { if (!document.hidden) judge(); });
  setInterval(judge, 30_000);
  whenChanged(judge);
  judge();
  saidAt();
  whose();
};
