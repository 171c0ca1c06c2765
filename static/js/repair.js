// repair: takes the worker and the pages it stored away and sets both up anew. What this phone
// keeps to be sent lies elsewhere and is not touched. [data-done] tells when it is done.

export default (form) => {
  form.addEventListener('submit', async (event) => {
    event.preventDefault();
    const workers = await navigator.serviceWorker?.getRegistrations() ?? [];
    await Promise.all(workers.map((worker) => worker.unregister()));
    if ('caches' in self) await Promise.all((await caches.keys()).map((key) => caches.delete(key)));
    await navigator.serviceWorker?.register('/sw.js', { updateViaCache: 'none' }).catch(() => {});
    form.querySelector('[data-done]').hidden = false;
  });
};
