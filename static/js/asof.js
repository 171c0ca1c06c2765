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
// As soon as there is contact, the page is loaded again, unless something was typed or kept.

import * as store from './store.js';
import { sealerOf, whenChanged } from './queue.js';

const patience = 4_000;
const asked = 'tide-again';

export default (box) => {
  const known = document.querySelector('[data-known]');
  let typed = false;

  const judge = async () => {
    if (!known) return;
    const about = (entry) => ['', box.dataset.sealer].includes(sealerOf(entry));
    const kept = (await store.entries().catch(() => [])).some(about);
    const good = Date.now() < Date.parse(box.dataset.ends) && !kept;
    known.hidden = !good;
    known.previousElementSibling.hidden = good;
  };

  const saidAt = async () => {
    const said = await caches.match('/cards/said').then((reply) => reply?.json());
    if (said) for (const place of document.querySelectorAll('[data-asof]')) place.textContent = said.as_of;
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

  // again loads the page anew at contact. A line so slow that the page comes from the phone once
  // more is asked less and less often.
  let pause = 2_000 * 2 ** Number(sessionStorage.getItem(asked) ?? 0);
  const again = async () => {
    clearTimeout(timer);
    try {
      const reply = await fetch('/livez', { cache: 'no-store', signal: AbortSignal.timeout(patience) });
      if (reply.ok && !typed && !document.querySelector('[data-kept]:not([hidden])')) {
        sessionStorage.setItem(asked, Math.min(6, 1 + Number(sessionStorage.getItem(asked) ?? 0)));
        location.reload();
        return;
      }
    } catch {
      pause = Math.min(60_000, pause * 2);
    }
    timer = setTimeout(again, pause);
  };
  let timer = setTimeout(again, pause);

  document.querySelector('main').addEventListener('input', () => { typed = true; });
  addEventListener('online', again);
  document.addEventListener('visibilitychange', () => { if (!document.hidden) judge(); });
  setInterval(judge, 30_000);
  whenChanged(judge);
  judge();
  saidAt().catch(() => {});
  whose();
};
