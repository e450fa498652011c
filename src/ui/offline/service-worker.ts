/// <reference lib="webworker" />

/** Keeps the app on the device, so that it opens off line: the files of one build. */

const scope = self as unknown as ServiceWorkerGlobalScope;

/** Put before this script by the build: a name of this build, and its files beside this one. */
const { build, files } = (
  self as unknown as { readonly built: { readonly build: string; readonly files: readonly string[] } }
).built;

const CACHE = `tributary ${build}`;
const PAGE = './';
/** Whoever asks is answered alike, whatever a server says of that. */
const MATCH = { ignoreVary: true };
/** A server that does not answer within this is taken for off line, ms. */
const PATIENCE_MS = 4000;

const keepAll = async (): Promise<void> => {
  const cache = await caches.open(CACHE);
  await cache.addAll([PAGE, ...files]);
};

const forgetOthers = async (): Promise<void> => {
  const others = (await caches.keys()).filter((name) => name.startsWith('tributary ') && name !== CACHE);
  await Promise.all(others.map((name) => caches.delete(name)));
};

/** The page of the newest build while there is a server, else the one that is kept. */
const page = async (request: Request): Promise<Response> => {
  try {
    // By its address: a request for a page takes no signal.
    return await fetch(request.url, { signal: AbortSignal.timeout(PATIENCE_MS) });
  } catch {
    return (await caches.match(PAGE, MATCH)) ?? Response.error();
  }
};

/** Names of files hold a digest of their content, so a kept one is never old; what was not kept with the others is, once it is asked for. */
const file = async (request: Request): Promise<Response> => {
  const kept = await caches.match(request, MATCH);
  if (kept) return kept;
  const answer = await fetch(request);
  if (answer.status === 200) await (await caches.open(CACHE)).put(request, answer.clone());
  return answer;
};

scope.addEventListener('install', (event) => event.waitUntil(keepAll()));
scope.addEventListener('activate', (event) => event.waitUntil(forgetOthers().then(() => scope.clients.claim())));
scope.addEventListener('fetch', (event) => {
  const { request } = event;
  if (request.method !== 'GET' || new URL(request.url).origin !== scope.location.origin) return;
  event.respondWith(request.mode === 'navigate' ? page(request) : file(request));
});
