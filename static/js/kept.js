// kept: lists what this phone keeps. Inside the element:
//
//   template      one entry: [data-words] [data-made] [data-state] and buttons named by data-do:
//                 "copy" its text, "try" again, "hand" to a lead, "remove" from this phone
//   [data-list]   where they go;  [data-none] shown when there are none
//   [data-now]    the button that sends everything now
//   data-kept data-signin data-parked data-handed data-photo data-copied   words for the states

import * as store from './store.js';
import { changed, drain, whenChanged } from './queue.js';

// plainText is an entry as somebody could read it out.
const plainText = (entry) => [
  entry.words,
  `made ${entry.made}, number ${entry.dev_n} of storage ${entry.dev}`,
  entry.says ? `says ${entry.says}` : '',
  `${entry.to} ${entry.form}`,
  entry.why,
].filter(Boolean).join('\n');

const copyOut = async (area, entry) => {
  area.value = plainText(entry);
  area.hidden = false;
  area.select();
  await navigator.clipboard?.writeText(area.value).catch(() => {});
};

export default (box) => {
  const words = box.dataset;
  const list = box.querySelector('[data-list]');
  const shape = box.querySelector('template').content.firstElementChild;

  const acts = (entry, row) => ({
    copy: () => copyOut(row.querySelector('textarea'), entry),
    try: async () => { await store.change(entry.id, { state: 'kept', why: '' }); await drain(); },
    hand: async () => { await store.change(entry.id, { state: 'kept', hand: true, why: '' }); await drain(); },
    remove: () => store.forget(entry.id),
  });

  const stateOf = (entry) => {
    if (entry.state === 'parked') return `${words.parked} ${entry.why}`;
    if (entry.hand) return words.handed;
    return entry.why === 'signin' ? words.signin : words.kept;
  };

  const draw = (entry) => {
    const row = shape.cloneNode(true);
    row.querySelector('[data-words]').textContent = entry.words;
    const at = row.querySelector('[data-made]');
    at.dateTime = entry.made;
    at.textContent = new Date(entry.made).toLocaleString([], { dateStyle: 'medium', timeStyle: 'short', hour12: false });
    row.querySelector('[data-state]').textContent = stateOf(entry);
    row.querySelector('[data-do="remove"]').hidden = entry.state !== 'parked';
    for (const button of row.querySelectorAll('[data-do]')) {
      button.addEventListener('click', async () => {
        await acts(entry, row)[button.dataset.do]();
        if (button.dataset.do !== 'copy') changed();
      });
    }
    return row;
  };

  const photoRow = (photo) => {
    const row = draw({ ...photo.entry, words: `${words.photo} · ${photo.entry.words}`, state: photo.state ?? 'kept', why: photo.why ?? '' });
    for (const button of row.querySelectorAll('[data-do]')) {
      if (button.dataset.do !== 'remove') button.remove();
      else button.addEventListener('click', async () => { await store.remove('photos', photo.id); changed(); });
    }
    return row;
  };

  const show = async () => {
    const rows = (await store.entries()).map(draw);
    for (const id of await store.photoNames()) {
      const photo = await store.photo(id);
      if (photo) rows.push(photoRow(photo));
    }
    list.replaceChildren(...rows);
    box.querySelector('[data-none]').hidden = rows.length > 0;
    box.querySelector('[data-now]').hidden = rows.length === 0;
  };

  box.querySelector('[data-now] button').addEventListener('click', drain);
  whenChanged(show);
  show().catch(() => {});
};
