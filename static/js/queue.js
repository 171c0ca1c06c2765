// queue: sends what this phone keeps, in order, one sender at a time however many tabs are open.
//
// What the server answers decides:
//
//   2xx with the entry's own id    it is on record, or waits for a lead there: removed here
//   401                            kept until its person signs in again
//   408, 425, 429, 5xx, no answer  kept; tried later
//   any other                      parked: shown on /kept, where a person decides
//
// While one entry for a sealer is undecided, later ones for the same sealer wait, except a bad
// word behind a parked one: that must never be held up. A photograph follows its report.
// drain() sends all that may go; sendNow(id) the same, and tells what became of one entry whose
// page is open ({kind: "done" | "later" | "signin" | "refused", reply}). After drain() has sent
// something, the window gets the event "sent": a page may have to be drawn anew.

import * as store from './store.js';

const patience = 8_000;
const photoPatience = 60_000;

// sealerOf names what an entry is about; "" stands for every sealer.
export const sealerOf = ({ to, form }) => {
  const fields = new URLSearchParams(form);
  if (fields.get('all') || fields.get('room')) return '';
  const [, place, code] = to.split('/');
  return place === 'S' || place === 'problems' ? code : '';
};

const stops = ({ to, form }) => to.endsWith('/bad-seal') || new URLSearchParams(form).get('outcome') === 'fail';

// held tells whether an entry has to wait for one of those before it.
const held = (entry, before) => before.some((other) => {
  const [a, b] = [sealerOf(entry), sealerOf(other)];
  if (a !== '' && b !== '' && a !== b) return false;
  return other.state !== 'parked' || !stops(entry);
});

const wire = (entry, live) => {
  const { v, id, ticket, says, to, form, dev, dev_n, made, hand } = entry;
  return { v, id, ticket, says, to, form, dev, dev_n, made, hand, live, sent: new Date().toISOString() };
};

const post = async (address, body, headers, limit) => {
  try {
    const reply = await fetch(address, {
      method: 'POST', body, headers, cache: 'no-store', redirect: 'error', signal: AbortSignal.timeout(limit),
    });
    return { status: reply.status, said: await reply.json(), after: Number(reply.headers.get('Retry-After')) };
  } catch {
    return { status: 0 };
  }
};

const judge = ({ status, said, after }, id) => {
  if (status >= 200 && status < 300) {
    return said?.id === id ? { kind: 'done', reply: said } : { kind: 'later' };
  }
  if (status === 401) return { kind: 'signin', reply: said };
  if (status === 0 || status >= 500 || [408, 425, 429].includes(status)) return { kind: 'later', after, answered: status > 0 };
  return { kind: 'refused', reply: said };
};

const sendEntry = async (entry, live) => {
  const headers = { 'Content-Type': 'application/json', Accept: 'application/json' };
  const outcome = judge(await post('/api/v1/queue', JSON.stringify(wire(entry, live)), headers, patience), entry.id);
  if (outcome.kind === 'done') {
    await store.take('told', (told) => ({ ...told, [sealerOf(entry)]: Date.now() }));
    await store.remove('entries', entry.id);
  }
  if (outcome.kind === 'signin') await store.change(entry.id, { why: 'signin' });
  if (outcome.kind === 'refused') await store.change(entry.id, { state: 'parked', why: outcome.reply?.detail ?? '' });
  return outcome;
};

const sendPhoto = async ({ id, of, kind, bytes, entry }) => {
  const body = new FormData();
  body.set('entry', JSON.stringify({ ...wire(entry, false), id, to: '/photographs', form: '' }));
  body.set('of', of);
  body.set('photo', new Blob([bytes], { type: kind }), 'photo.jpg');
  const outcome = judge(await post('/api/v1/queue/photographs', body, { Accept: 'application/json' }, photoPatience), id);
  if (outcome.kind === 'done') await store.remove('photos', id);
  if (outcome.kind === 'refused') await store.changePhoto(id, { state: 'parked', why: outcome.reply?.detail ?? '' });
  return outcome;
};

const sendPhotos = async () => {
  const waiting = new Set((await store.entries()).map(({ id }) => id));
  for (const id of await store.photoNames()) {
    const photo = await store.photo(id);
    if (!photo || photo.state === 'parked' || waiting.has(photo.of)) continue;
    const outcome = await sendPhoto(photo);
    if (outcome.kind === 'later' && !outcome.answered) return outcome;
  }
  return { kind: 'done' };
};

// sendAll goes through the entries once. It ends where the line does.
const sendAll = async (now) => {
  const before = [];
  let of = { kind: 'later' };
  let line = { kind: 'done' };
  let sent = false;
  for (const entry of await store.entries()) {
    const live = entry.id === now;
    if ((entry.state === 'parked' && !live) || held(entry, before)) {
      before.push(entry);
      continue;
    }
    const outcome = await sendEntry(entry, live);
    if (live) of = outcome;
    sent ||= outcome.kind === 'done';
    if (outcome.kind === 'done') continue;
    before.push({ ...entry, state: outcome.kind === 'refused' ? 'parked' : 'kept' });
    if (outcome.kind !== 'later') continue;
    line = outcome;
    break;
  }
  return { of, line, sent };
};

// alone runs work in one tab at a time. Where a browser has no locks, a lease in the store
// stands for one: given back with the page, and it ends by itself soon after a tab dies.
const leaseLife = 20_000;

const alone = async (work, wait) => {
  if (navigator.locks) {
    const options = wait ? { signal: AbortSignal.timeout(patience) } : { ifAvailable: true };
    return navigator.locks.request('tide-queue', options, (lock) => (lock ? work() : null));
  }
  const me = store.newId();
  const mine = (lease) => !lease || lease.until < Date.now() || lease.by === me;
  const renew = () => store.take('lease', (lease) => mine(lease) && { by: me, until: Date.now() + leaseLife });
  const giveBack = () => store.take('lease', (lease) => lease?.by === me && { by: '', until: 0 });
  for (let left = wait ? 40 : 0; !(await renew()); left -= 1) {
    if (left <= 0) return null;
    await new Promise((done) => { setTimeout(done, 200); });
  }
  const beat = setInterval(renew, leaseLife / 4);
  addEventListener('pagehide', giveBack);
  try {
    return await work();
  } finally {
    clearInterval(beat);
    removeEventListener('pagehide', giveBack);
    await giveBack();
  }
};

const line = new EventTarget();
const others = 'BroadcastChannel' in self ? new BroadcastChannel('tide-queue') : null;
others?.addEventListener('message', () => line.dispatchEvent(new Event('changed')));

// changed tells this tab and the others that what is kept has changed.
export const changed = () => {
  line.dispatchEvent(new Event('changed'));
  others?.postMessage('changed');
};

export const whenChanged = (act) => line.addEventListener('changed', act);

let tries = 0;
let timer = 0;

// later tries again after a pause that doubles up to five minutes, never two phones in step.
const later = (after) => {
  clearTimeout(timer);
  const pause = Math.max(after > 0 ? after * 1000 : 0, Math.min(300_000, 2_000 * 2 ** tries));
  tries = Math.min(tries + 1, 10);
  timer = setTimeout(drain, pause * (0.5 + Math.random()));
};

const settle = (outcome) => {
  if (outcome?.kind === 'later') later(outcome.after);
  else tries = 0;
  changed();
};

const nothingKept = async () => (await store.entries()).length === 0 && (await store.photoNames()).length === 0;

export const drain = async () => {
  if (await nothingKept()) return;
  const outcome = await alone(async () => {
    const { line: entries, sent } = await sendAll('');
    if (sent) dispatchEvent(new Event('sent'));
    return entries.kind === 'later' ? entries : sendPhotos();
  }, false);
  if (outcome) settle(outcome);
  else later(0); // another tab is at it, or one that has just gone
};

export const sendNow = async (id) => {
  const outcome = await alone(() => sendAll(id), true).catch(() => null);
  settle(outcome?.line);
  return outcome?.of ?? { kind: 'later' };
};

// sendPhotosNow follows a report whose page is about to change.
export const sendPhotosNow = async () => {
  const outcome = await alone(sendPhotos, true).catch(() => null);
  settle(outcome);
  return outcome?.kind === 'done';
};
