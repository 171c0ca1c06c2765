// store: what this phone keeps, in IndexedDB. Three stores:
//
//   entries  by id: {v, id, to, form, ticket, says, dev, dev_n, made, words, state, why}
//            state "kept", or "parked" with what the server said; words for people
//   photos   by id: {id, of, kind, bytes: ArrayBuffer, entry}   of: the id of its report
//   notes    "storage" {dev, n}: which storage this is, how many entries it has made;
//            "who" {ticket, name}: who is signed in; "lease": see queue.js; "told" {code: when}:
//            when something about a sealer was last sent, "" for all
//
// A promise is kept once the transaction is complete, not before. The base is opened anew where
// the phone has closed it meanwhile. Bytes are an ArrayBuffer: some phones lose Blobs.

const name = 'tide';
let opening = null;

const open = () => {
  opening ??= new Promise((done, fail) => {
    const ask = indexedDB.open(name, 1);
    ask.onupgradeneeded = () => {
      ask.result.createObjectStore('entries', { keyPath: 'id' });
      ask.result.createObjectStore('photos', { keyPath: 'id' });
      ask.result.createObjectStore('notes');
    };
    ask.onerror = () => fail(ask.error);
    ask.onsuccess = () => {
      const base = ask.result;
      base.onclose = () => { opening = null; };
      base.onversionchange = () => { base.close(); opening = null; };
      done(base);
    };
  });
  opening.catch(() => { opening = null; });
  return opening;
};

const begin = async (mode) => {
  const all = ['entries', 'photos', 'notes'];
  try {
    return (await open()).transaction(all, mode, { durability: 'strict' });
  } catch (why) {
    if (why.name !== 'InvalidStateError') throw why;
    opening = null;
    return (await open()).transaction(all, mode, { durability: 'strict' });
  }
};

// within runs work in one transaction and answers what it gives to its second argument.
const within = async (mode, work) => {
  const tx = await begin(mode);
  return new Promise((done, fail) => {
    let answer;
    tx.oncomplete = () => done(answer);
    tx.onabort = () => fail(tx.error ?? new DOMException('not stored', 'AbortError'));
    work(tx, (value) => { answer = value; });
  });
};

const read = (store, ask) => within('readonly', (tx, give) => {
  const request = ask(tx.objectStore(store));
  request.onsuccess = () => give(request.result);
});

export const newId = () => [...crypto.getRandomValues(new Uint8Array(16))]
  .map((b) => b.toString(16).padStart(2, '0')).join('');

// add keeps an entry and its photographs, all or nothing. The same entry made again keeps its
// number.
export const add = (entry, photos) => within('readwrite', (tx, give) => {
  const notes = tx.objectStore('notes');
  const entries = tx.objectStore('entries');
  notes.get('storage').onsuccess = ({ target: { result } }) => {
    const storage = result ?? { dev: newId(), n: 0 };
    entries.get(entry.id).onsuccess = ({ target: { result: before } }) => {
      const n = before?.dev_n ?? storage.n + 1;
      notes.put({ dev: storage.dev, n: Math.max(n, storage.n) }, 'storage');
      const kept = { ...entry, dev: storage.dev, dev_n: n };
      entries.put(kept);
      for (const photo of photos) tx.objectStore('photos').put({ ...photo, entry: kept });
      give(kept);
    };
  };
});

// entries in the order they were made.
export const entries = async () =>
  (await read('entries', (store) => store.getAll())).sort((a, b) => a.dev_n - b.dev_n);

// photoNames leaves the bytes where they are: they are read one at a time.
export const photoNames = () => read('photos', (store) => store.getAllKeys());
export const photo = (id) => read('photos', (store) => store.get(id));

// change replaces an entry that is still there: one that was sent meanwhile stays gone.
export const change = (id, part) => within('readwrite', (tx) => {
  const entries = tx.objectStore('entries');
  entries.get(id).onsuccess = ({ target: { result } }) => {
    if (result) entries.put({ ...result, ...part });
  };
});

export const changePhoto = (id, part) => within('readwrite', (tx) => {
  const photos = tx.objectStore('photos');
  photos.get(id).onsuccess = ({ target: { result } }) => {
    if (result) photos.put({ ...result, ...part });
  };
});

export const remove = (store, id) => within('readwrite', (tx) => {
  tx.objectStore(store).delete(id);
});

export const note = (key) => read('notes', (store) => store.get(key));
export const setNote = (key, value) => within('readwrite', (tx) => {
  tx.objectStore('notes').put(value, key);
});

// take changes a note in one step: change gets what is there and answers what shall be, or
// nothing to leave it. Answers whether it was changed.
export const take = (key, change) => within('readwrite', (tx, give) => {
  const notes = tx.objectStore('notes');
  notes.get(key).onsuccess = ({ target: { result } }) => {
    const next = change(result);
    if (next) notes.put(next, key);
    give(Boolean(next));
  };
});

// forget takes an entry and its photographs off this phone: only a person decides that.
export const forget = (id) => within('readwrite', (tx) => {
  tx.objectStore('entries').delete(id);
  tx.objectStore('photos').openCursor().onsuccess = ({ target: { result: at } }) => {
    if (!at) return;
    if (at.value.of === id) at.delete();
    at.continue();
  };
});
