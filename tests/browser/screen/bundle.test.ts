import { strFromU8, unzipSync } from 'fflate';
import { expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { parseSession } from '../../../src/session/read/parse.ts';
import { downloaded } from './downloaded.ts';
import { accessibilityTroubles, openSong, settled } from './open-screen.ts';

const dialog = () => page.getByRole('dialog', { name: 'Bundle' });

test('a session is saved as a bundle with sound and report', async () => {
  await openSong();
  await page.getByRole('button', { name: 'Bundle …' }).click();
  await settled();
  expect(await accessibilityTroubles()).toEqual([]);
  const [name, content] = await downloaded(() => dialog().getByRole('button', { name: 'Save bundle' }).click());
  expect(name).toBe('Low Tide - bundle.zip');
  const files = unzipSync(content);
  expect(Object.keys(files)).toEqual(
    expect.arrayContaining(['session.json', 'report/Low Tide - report.md', 'bundle - manifest.json']),
  );
  const session = parseSession(strFromU8(files['session.json']!), 'session.json');
  for (const { file } of session.tracks) expect(Object.keys(files)).toContain(file);
  await expect.element(dialog().getByText('Saved as Low Tide - bundle.zip.')).toBeVisible();

  await dialog().getByText('With report and recall sheet').click();
  const [, small] = await downloaded(() => dialog().getByRole('button', { name: 'Save bundle' }).click());
  expect(Object.keys(unzipSync(small)).filter((path) => path.startsWith('report/'))).toEqual([]);
  await userEvent.keyboard('{Escape}');
  await expect.element(dialog()).not.toBeInTheDocument();
});
