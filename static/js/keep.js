// keep: a form is stored on this phone before the page says anything, and sent from there.
//
//   data-keeps="/tag"   only what is sent to such an address; the rest of the form goes its way
//   data-must="kind"  data-must-words="Choose what you see."    what has to be chosen
//   data-about="Clean the jaw"    what it is about, for the list of what is kept
//   [data-kept] [data-waits]    on the page: what to say when it is kept, or waits for a lead
//   [data-says] input           whose it is, where that is typed: see asof.js
//
// With contact the page that follows comes as ever; what is refused is sent the plain way, so
// that the server draws the form again with its words. Where nothing can be stored, the form
// goes the plain way, too.

import * as store from './store.js';
import { sendNow, sendPhotosNow, changed } from './queue.js';

const soon = 600;
const photoWait = 5_000;
const wait = (ms) => new Promise((done) => { setTimeout(done, ms); });

// plain sends a form as a browser without script would.
const plain = (form, button) => {
  if (button?.name) {
    const field = document.createElement('input');
    Object.assign(field, { type: 'hidden', name: button.name, value: button.value });
    form.append(field);
  }
  const to = button?.getAttribute('formaction');
  if (to) form.setAttribute('action', to);
  HTMLFormElement.prototype.submit.call(form);
};

const text = (element) => element?.textContent.trim() ?? '';

// wordsOf tells a person what an entry says: the button, what was chosen, the sealer.
const wordsOf = (form, button) => [
  button?.dataset.words ?? text(button?.querySelector('span')),
  form.dataset.about,
  ...[...form.querySelectorAll(':checked')].map((choice) => text(choice.closest('label'))),
  text(document.querySelector('.head-back')) || text(document.querySelector('h1')?.firstChild),
].filter(Boolean).join(' · ');

const entryOf = async (form, button, data) => {
  const fields = new URLSearchParams([...data].filter(([, value]) => typeof value === 'string'));
  const page = document.querySelector('[data-ticket]')?.dataset.ticket;
  const who = await store.note('who');
  const kept = Boolean(document.querySelector('[data-ends]'));
  return {
    v: 1,
    id: kept ? store.newId() : fields.get('id') || store.newId(),
    to: button?.getAttribute('formaction') ?? form.getAttribute('action'),
    form: fields.toString(),
    ticket: page || who?.ticket || '',
    says: document.querySelector('[data-says] input')?.value.trim() ?? '',
    made: new Date().toISOString(),
    words: wordsOf(form, button),
    state: 'kept',
    why: '',
  };
};

const photosOf = (data, of) => Promise.all(data.getAll('photo').filter((file) => file.size > 0)
  .map(async (file) => ({ id: store.newId(), of, kind: file.type, bytes: await file.arrayBuffer() })));

// keepRow stores the entry; where there is no room for its photographs, without them.
const keepRow = async (entry, photos) => {
  try {
    return { entry: await store.add(entry, photos), photos };
  } catch (why) {
    if (why.name !== 'QuotaExceededError' || photos.length === 0) throw why;
    return { entry: await store.add(entry, []), photos: [], lost: true };
  }
};

const tell = (form, name, { entry, lost }) => {
  const box = document.querySelector(`[data-${name}]`);
  if (!box) return;
  for (const actions of form.querySelectorAll('.actions')) actions.hidden = true;
  const at = box.querySelector('[data-time]');
  if (at) at.textContent = new Date(entry.made).toLocaleTimeString([], { hour: '2-digit', minute: '2-digit', hour12: false });
  for (const note of box.querySelectorAll('[data-lost]')) note.hidden = !lost;
  box.hidden = false;
  box.scrollIntoView({ block: 'center' });
};

const missing = (form) => {
  const name = form.dataset.must;
  if (!name) return false;
  const choices = [...form.querySelectorAll(`input[name="${name}"]`)];
  const none = !choices.some((choice) => choice.checked);
  choices[0].setCustomValidity(none ? form.dataset.mustWords : '');
  if (none) choices[0].reportValidity();
  return none;
};

export default (form) => {
  let busy = false;

  form.addEventListener('change', () => {
    for (const choice of form.querySelectorAll('input')) choice.setCustomValidity('');
  });

  const follow = async ({ reply }, kept) => {
    if (!reply.next) {
      tell(form, 'waits', kept);
      return;
    }
    const all = kept.photos.length && await Promise.race([sendPhotosNow(), wait(photoWait)]);
    const note = kept.lost ? '&photo=full' : all ? '&photo=kept' : '';
    location.assign(reply.next + (reply.next.includes('?') ? note : ''));
  };

  const send = async (button) => {
    await form.querySelector('.photo')?.shrunk;
    const data = new FormData(form);
    if (button?.name) data.append(button.name, button.value);
    let kept;
    try {
      const entry = await entryOf(form, button, data);
      kept = await keepRow(entry, await photosOf(data, entry.id));
    } catch (why) {
      console.warn('nothing can be kept here', why);
      plain(form, button);
      return;
    }
    changed();
    const outcome = sendNow(kept.entry.id);
    const early = await Promise.race([outcome, wait(soon)]);
    if (!early) tell(form, 'kept', kept);
    const end = await outcome;
    if (end.kind === 'done') await follow(end, kept);
    else if (end.kind === 'refused') plain(form, button);
    else tell(form, end.kind === 'signin' ? 'signin' : 'kept', kept);
  };

  form.addEventListener('submit', (event) => {
    const to = event.submitter?.getAttribute('formaction') ?? form.getAttribute('action') ?? '';
    if (!to.endsWith(form.dataset.keeps ?? '')) return;
    event.preventDefault();
    if (busy || missing(form)) return;
    busy = true;
    send(event.submitter).finally(() => { busy = false; });
  });
};
