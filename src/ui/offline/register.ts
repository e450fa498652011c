/** Installs the service worker that keeps the app on this device; not in development. Everything else works without it. */
export const keepApp = (): void => {
  if (!import.meta.env.PROD || !('serviceWorker' in navigator)) return;
  const keep = (): void => void navigator.serviceWorker.register('./service-worker.js').catch(() => undefined);
  // The scripts wait for WebAssembly, and may so come after the page.
  if (document.readyState === 'complete') keep();
  else addEventListener('load', keep);
};
