import '@fontsource-variable/source-sans-3';
import '../../../src/ui/theme/tokens.css';
import '../../../src/ui/theme/base.css';
import { run } from 'axe-core';
import { expect } from 'vitest';
import { page } from 'vitest/browser';
import { render } from 'vitest-browser-svelte';
import type { Session } from '../../../src/session/schema.ts';
import { sessionText } from '../../../src/session/read/serialize.ts';
import { DIALOGS, PAGES, PANELS } from '../../../src/ui/screen/late-parts.ts';
import App from '../../../src/ui/app.svelte';
import { filesOf } from '../../../src/engine/files-of-session.ts';
import { isSoaking } from '../../helpers/soak.ts';
import { FakeEngine } from './fake-engine.ts';
import { fakeSession } from './fake-session.ts';

/** The whole screen on an engine without sound. Its late parts come first: how soon they do is a matter of how busy the machine is. */
export const openEmpty = async (engine = new FakeEngine()): Promise<FakeEngine> => {
  await Promise.all([DIALOGS, PAGES, PANELS].flatMap((parts) => Object.values(parts).map((part) => part.fetch())));
  await render(App, { engine });
  return engine;
};

/** Drops files on the window, as a user does. */
export const drop = (...files: File[]): void => {
  const dataTransfer = new DataTransfer();
  for (const file of files) dataTransfer.items.add(file);
  window.dispatchEvent(new DragEvent('drop', { dataTransfer, bubbles: true, cancelable: true }));
};

/** Every file has a content of its own. */
export const audioFile = (name: string): File => new File([`RIFF ${name}`], name, { type: 'audio/wav' });

/** The whole screen with a song open, all of its files in hand unless some are left out. */
export const openSong = async (session = fakeSession(), without: readonly string[] = []): Promise<FakeEngine> => {
  const engine = await openEmpty();
  const names = filesOf(session).filter((path) => !without.includes(path));
  drop(new File([sessionText(session)], 'session.json'), ...names.map((path) => audioFile(path.split('/').at(-1)!)));
  await expect.element(page.getByLabelText('Title of the song')).toHaveValue(session.title);
  return engine;
};

/** The session that the engine was last given to render. */
export const lastSession = (engine: FakeEngine): Session => {
  const call = engine.calls.findLast(([name]) => name === 'apply');
  if (!call) throw new Error('the engine was given no session');
  return call[1] as Session;
};

export const applied = (engine: FakeEngine): number => engine.calls.filter(([name]) => name === 'apply').length;

/** Waits until what was done is drawn. */
export const drawn = (): Promise<unknown> => new Promise((resolve) => requestAnimationFrame(resolve));

/** Waits until what was done is drawn and every animation that ends has ended: half way, all would be measured wrong. */
export const settled = async (): Promise<void> => {
  await drawn();
  const ending = document.getAnimations().filter(({ effect }) => effect?.getComputedTiming().endTime !== Infinity);
  await Promise.allSettled(ending.map(({ finished }) => finished));
  await drawn();
};

/** What the accessibility rules object to on the page as it stands, in the theme that is set. */
const troublesNow = async (): Promise<string[]> => {
  // The page around it belongs to the test runner.
  const { violations } = await run(document.body, {
    rules: { 'page-has-heading-one': { enabled: false } },
    // Nothing is asked of what passes: writing that up takes most of the time.
    resultTypes: ['violations'],
  });
  return violations.flatMap(({ id, nodes }) =>
    nodes.map(({ html, failureSummary }) => `${id}: ${html} ${failureSummary ?? ''}`),
  );
};

/** What the accessibility rules object to on the page as it stands; when soaking in both themes, unless a test has set one. */
export const accessibilityTroubles = async (): Promise<string[]> => {
  const { dataset } = document.documentElement;
  if (!isSoaking || dataset['theme'] !== undefined) return troublesNow();
  const troubles: string[] = [];
  for (const theme of ['light', 'dark']) {
    dataset['theme'] = theme;
    await settled();
    troubles.push(...(await troublesNow()).map((trouble) => `${theme}: ${trouble}`));
  }
  delete dataset['theme'];
  return troubles;
};
