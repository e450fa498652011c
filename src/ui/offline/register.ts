/** Has the app kept on this device once it has loaded; while it is being developed it is not. Without it all else works as well. */
export const keepApp = (): void => {
  if (!import.meta.env.PROD || !('serviceWorker' in navigator)) return;
  const keep = (): void => void navigator.serviceWorker.register('./service-worker.js').catch(() => undefined);
  // The scripts wait for WebAssembly, and may so come after the page.
  if (document.readyState === 'complete') keep();
  else addEventListener('load', keep);
};
