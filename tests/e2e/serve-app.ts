import { preview } from 'vite';
import type { TestProject } from 'vitest/node';
import { configFile, ensureApp } from '../../src/ui/build-app.mjs';

declare module 'vitest' {
  interface ProvidedContext {
    /** Where the built app is served, with a slash at the end. */
    baseUrl: string;
  }
}

/** Builds and serves the app as `npm start` does, on a free port, for all tests of the project. */
export async function setup(project: TestProject): Promise<() => Promise<void>> {
  await ensureApp(console.log);
  const server = await preview({ configFile, logLevel: 'error', preview: { host: '127.0.0.1', port: 0 } });
  const baseUrl = server.resolvedUrls?.local[0];
  if (baseUrl === undefined) throw new Error('the preview server has no address');
  project.provide('baseUrl', baseUrl);
  return () => server.close();
}
