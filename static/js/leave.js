// leave: whoever signs out takes the pages kept for them and their name off this phone. Entries
// that are not sent yet stay, with who made them.

import * as store from './store.js';

const patience = 1_000;

export default (form) => {
  form.addEventListener('submit', (event) => {
    event.preventDefault();
    navigator.serviceWorker?.controller?.postMessage('leave'); // what it fetches just now, too
    const tidy = Promise.allSettled([
      'caches' in self ? caches.delete('tide-cards') : null,
      store.take('who', () => ({ ticket: '', name: '' })),
    ]);
    const enough = new Promise((done) => { setTimeout(done, patience); });
    Promise.race([tidy, enough]).then(() => HTMLFormElement.prototype.submit.call(form));
  });
};
