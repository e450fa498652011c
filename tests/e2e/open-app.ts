import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { AxeResults } from 'axe-core';
import { type Browser, chromium, type Page } from 'playwright';
import { inject } from 'vitest';
import { chromiumAtHand, chromiumFlags } from '../find-chromium.mjs';

declare global {
  interface Window {
    /** What the script of axe-core puts into a page. */
    axe: { run: () => Promise<AxeResults> };
  }
}

/** The app in a window of its own. */
export interface OpenApp {
  readonly page: Page;
  /** What went wrong in the page so far: uncaught errors, errors on the console, requests without an answer. */
  readonly troubles: string[];
  readonly close: () => Promise<void>;
}

/** Starts the Chromium that the tests use. */
export function launchChromium(): Promise<Browser> {
  const executablePath = chromiumAtHand();
  return chromium.launch({ args: chromiumFlags, ...(executablePath === undefined ? {} : { executablePath }) });
}

/** Opens the built app as a new user would: a fresh browser, nothing stored. `search` is what follows the address. */
export async function openApp(search = ''): Promise<OpenApp> {
  const browser = await launchChromium();
  const page = await browser.newPage();
  // The time-out of the test ends what hangs.
  page.setDefaultTimeout(0);
  const troubles: string[] = [];
  page.on('pageerror', (error) => troubles.push(`uncaught: ${error.message}`));
  page.on('console', (message) => {
    if (message.type() === 'error') troubles.push(`console: ${message.text()}`);
  });
  page.on('requestfailed', (request) => troubles.push(`no answer: ${request.url()}`));
  await page.goto(new URL(search, inject('baseUrl')).href);
  return { page, troubles, close: () => browser.close() };
}

/** Presses the first button of this name, which asks for files, and gives it some. */
export async function giveFiles(page: Page, button: RegExp, files: readonly string[]): Promise<void> {
  const [chooser] = await Promise.all([
    page.waitForEvent('filechooser'),
    page.getByRole('button', { name: button }).first().click(),
  ]);
  await chooser.setFiles([...files]);
}

/** What the accessibility rules of axe-core object to on the page as it stands: one line a rule and element. */
export async function accessibilityTroubles(page: Page): Promise<string[]> {
  // As the browser's tools run it: the page's own policy lets no script in.
  await page.evaluate(readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8'));
  const { violations } = await page.evaluate(() => window.axe.run());
  return violations.flatMap(({ id, nodes }) => nodes.map(({ html }) => `${id}: ${html}`));
}
