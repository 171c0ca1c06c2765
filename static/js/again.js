// again: a page that a phone kept asks for itself anew, through the worker: see sw.js.
//
//   [data-asking], [data-alone]   words while it asks for the first time, and without contact
//   [data-contact]                there is contact, but the page is in use: the choice is left
//
// The answer replaces the page only while nothing was typed or kept on it, or once that was sent,
// and not under a finger. start.js takes no tap that was meant for the page before. While it asks
// for the first time nothing is sent from it, as the answer may say that somebody else is signed
// in here, or that it stands otherwise; a tap waits until it is known that there is no contact.

import * as store from './store.js';

const patience = 4_000; // then it says that there is no contact, and goes on asking
const limit = 25_000; // a worker that says nothing has gone
const first = 2_000;
const most = 60_000;
const rest = 1_000; // after a finger

export default (box) => {
  const worker = navigator.serviceWorker;
  const show = (name, yes) => { box.querySelector(`[data-${name}]`).hidden = !yes; };
  const said = () => document.querySelector('[data-kept]:not([hidden]), [data-signin]:not([hidden]), [data-waits]:not([hidden])');
  let typed = false;
  let sent = false;
  let contact = false;
  let touched = 0;
  let pause = first;
  let timer = 0;
  let waiting = 0;
  let tap = null;

  const hold = (event) => {
    if (!document.documentElement.matches('.asking')) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    tap = event.submitter;
    tap?.setAttribute('aria-busy', 'true');
  };

  const asking = (yes) => {
    show('asking', yes);
    show('alone', !yes && !contact);
    show('contact', !yes && contact);
    document.documentElement.classList.toggle('asking', yes);
  };

  // letGo gives back the tap that waited.
  const letGo = () => {
    const held = tap;
    held?.removeAttribute('aria-busy');
    tap = null;
    return held;
  };

  const alone = () => {
    asking(false);
    const held = letGo();
    held?.form.requestSubmit(held);
  };

  const ask = () => {
    clearTimeout(timer);
    timer = setTimeout(heard, limit, { came: false });
    worker.controller.postMessage({ again: location.href });
  };

  const replace = () => {
    if (said() ? !sent : typed) {
      contact = true;
      asking(false);
      letGo();
    } else if (Date.now() - touched < rest) {
      timer = setTimeout(replace, rest);
    } else {
      sessionStorage.setItem('tide-replaced', Date.now());
      location.reload();
    }
  };

  const heard = ({ came }) => {
    clearTimeout(timer);
    clearTimeout(waiting);
    if (came) {
      replace();
      return;
    }
    alone();
    timer = setTimeout(ask, pause);
    pause = Math.min(most, pause * 2);
  };

  if (!worker?.controller) return;
  worker.addEventListener('message', ({ data }) => { if (data?.again === location.href) heard(data); });
  worker.startMessages();
  document.querySelector('main').addEventListener('input', () => { typed = true; });
  for (const event of ['pointerdown', 'pointermove', 'pointerup', 'keydown', 'scroll']) {
    addEventListener(event, () => { touched = Date.now(); }, { passive: true });
  }
  addEventListener('submit', hold, true);
  addEventListener('online', ask);
  addEventListener('sent', async () => {
    sent = (await store.entries()).length === 0;
    ask();
  });
  document.addEventListener('visibilitychange', () => { if (!document.hidden) ask(); });
  asking(true);
  waiting = setTimeout(alone, patience);
  ask();
};
