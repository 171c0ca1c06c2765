// fresh: keeps a page from telling an old state. On <main>:
//
//   data-url      answers {"version": "...", "at": "09:52"}; the version changes with the page
//   data-version  the version this page was drawn from
//   [data-old], [data-at], [data-changed]   the words to show: see "old" in page.html
//
// Asks when the page comes back to view, when this phone has sent what it kept, and once a minute
// while it is seen. Five minutes without an answer: <html class="stale">, greyed. A new version:
// load again, unless something was typed, then say so and leave the choice.

const minute = 60_000;
const patience = 8_000;

export default (main) => {
  let contact = Date.now();
  let typed = false;
  const part = (name) => main.querySelector(`[data-${name}]`);

  const grey = () => {
    const stale = Date.now() - contact > 5 * minute;
    document.documentElement.classList.toggle('stale', stale);
    part('old').hidden = !stale;
  };

  const ask = async () => {
    grey();
    try {
      const reply = await fetch(main.dataset.url, {
        headers: { Accept: 'application/json' },
        cache: 'no-store',
        signal: AbortSignal.timeout(patience),
      });
      if (!reply.ok) return;
      heard(await reply.json());
    } catch {
      grey();
    }
  };

  const heard = ({ version, at }) => {
    contact = Date.now();
    grey();
    if (version === main.dataset.version) part('at').textContent = at;
    else if (typed) part('changed').hidden = false;
    else location.reload();
  };

  main.addEventListener('input', () => { typed = true; });
  addEventListener('pageshow', (event) => { if (event.persisted) ask(); });
  addEventListener('online', ask);
  addEventListener('sent', ask);
  document.addEventListener('visibilitychange', () => { if (!document.hidden) ask(); });
  setInterval(() => { if (!document.hidden) ask(); }, minute);
};
