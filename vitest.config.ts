import { readFileSync } from 'node:fs';
import { playwright } from '@vitest/browser-playwright';
import { defineConfig } from 'vitest/config';
import { bundledWorkers } from './tests/browser/bundled-workers.mjs';
import { commandLine, keepFiles } from './tests/browser/command-line.mjs';
import { directImports } from './tests/direct-imports.mjs';
import { chromiumAtHand, chromiumFlags } from './tests/find-chromium.mjs';
import { appPlugins } from './vite.config.ts';

const { dependencies } = JSON.parse(readFileSync(new URL('package.json', import.meta.url), 'utf8')) as {
  dependencies: Record<string, string>;
};
const notForThePage = ['vite', 'commander', '@sveltejs/vite-plugin-svelte', '@fontsource-variable/source-sans-3'];
const HANGING_MS = 600_000;
// Most of what Node runs here is young: machine code for it soon, and room for what is thrown away at once.
const execArgv = ['--always-sparkplug', '--max-semi-space-size=64'];
const setupFiles = ['tests/helpers/fixed-draws.ts', 'tests/helpers/equal-samples.ts'];
const executablePath = chromiumAtHand();

export default defineConfig({
  plugins: [bundledWorkers(), directImports(), ...appPlugins()],
  worker: { format: 'es' },
  test: {
    // See tests/helpers/soak.ts.
    provide: { soakRound: Number(process.env['SOAK_ROUND'] ?? 0) },
    // Waits end with what they wait for; these only end a test that hangs, on machines however busy.
    testTimeout: HANGING_MS,
    hookTimeout: HANGING_MS,
    expect: { poll: { timeout: HANGING_MS / 4 } },
    projects: [
      {
        extends: true,
        test: {
          name: 'unit',
          setupFiles,
          execArgv,
          environment: 'node',
          // No test leaves anything behind, and starting a process for each file takes longer than most files.
          isolate: false,
          maxWorkers: 2,
          include: ['tests/**/*.test.ts'],
          exclude: ['tests/{reference,browser,e2e}/**'],
          sequence: { groupOrder: 0 },
        },
      },
      {
        extends: true,
        test: {
          name: 'reference',
          setupFiles,
          execArgv,
          environment: 'node',
          isolate: false,
          include: ['tests/reference/**/*.test.ts'],
          sequence: { groupOrder: 1 },
        },
      },
      {
        extends: true,
        // Found only while tests run, a dependency would make the page load anew in the middle of one.
        optimizeDeps: {
          include: [
            ...Object.keys(dependencies).filter((name) => !notForThePage.includes(name)),
            ...['vitest-browser-svelte', 'axe-core', 'fast-check'],
          ],
        },
        test: {
          name: 'browser',
          setupFiles: [...setupFiles, 'tests/browser/clean-page.ts'],
          include: ['tests/browser/**/*.test.ts'],
          sequence: { groupOrder: 2 },
          browser: {
            enabled: true,
            headless: true,
            isolate: false,
            screenshotFailures: false,
            commands: { commandLine, keepFiles },
            provider: playwright({
              launchOptions: { args: chromiumFlags, ...(executablePath === undefined ? {} : { executablePath }) },
            }),
            instances: [{ browser: 'chromium' }],
          },
        },
      },
      {
        extends: true,
        test: {
          name: 'e2e',
          environment: 'node',
          include: ['tests/e2e/**/*.test.ts'],
          globalSetup: 'tests/e2e/serve-app.ts',
          sequence: { groupOrder: 3 },
        },
      },
    ],
  },
});
