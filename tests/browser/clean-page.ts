import { beforeEach } from 'vitest';
import { page } from 'vitest/browser';
import { cleanup } from 'vitest-browser-svelte';

// All files of tests share one page, so that it loads the app's modules once: each test begins with an empty one.
beforeEach(async () => {
  cleanup();
  localStorage.clear();
  delete document.documentElement.dataset['theme'];
  await page.viewport(1440, 900);
});
