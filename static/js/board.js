// board: keeps a wall board live.
//
//   data-events    a text/event-stream; each message means "something changed", its id how far
//   data-fragment  the HTML that belongs inside the element
//   [data-line]    "up" or "down"; its words stand in [data-up] and [data-down], the time in
//                  [data-clock]. It belongs into the fragment, so that the time in "as of 09:52"
//                  is the fragment's own, or that of the last "alive" event, whose data it is
//
// One fetch at a time; what changes meanwhile is fetched once more afterwards. A fetch says the
// last id as "seen". The browser reconnects the stream by itself and all is fetched anew.

const patience = 8_000;

export default (box) => {
  let busy = false;
  let again = false;
  let seen = '';

  const show = (state) => {
    const line = document.querySelector('[data-line]');
    if (!line) return;
    line.dataset.line = state;
    for (const word of ['up', 'down']) {
      line.querySelector(`[data-${word}]`).hidden = word !== state;
    }
  };

  const fetchOnce = async () => {
    const reply = await fetch(`${box.dataset.fragment}?seen=${seen}`, {
      cache: 'no-store',
      signal: AbortSignal.timeout(patience),
    });
    if (!reply.ok) throw new Error(`fragment: ${reply.status}`);
    const page = new DOMParser().parseFromString(await reply.text(), 'text/html');
    box.replaceChildren(...page.body.childNodes);
  };

  const refresh = async () => {
    if (busy) {
      again = true;
      return;
    }
    busy = true;
    try {
      await fetchOnce();
      show('up');
    } catch {
      show('down');
    }
    busy = false;
    if (again) {
      again = false;
      refresh();
    }
  };

  const stream = new EventSource(box.dataset.events);
  stream.addEventListener('open', refresh);
  stream.addEventListener('message', (event) => {
    seen = event.lastEventId;
    refresh();
  });
  stream.addEventListener('alive', (event) => {
    for (const clock of document.querySelectorAll('[data-line] [data-clock]')) clock.textContent = event.data;
    show('up');
  });
  stream.addEventListener('error', () => show('down'));
  addEventListener('pagehide', () => stream.close());
  addEventListener('pageshow', (event) => { if (event.persisted) location.reload(); });
};
