import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { writeWav } from '../../src/files/wav/wav-write.ts';
import { parseSession } from '../../src/session/read/parse.ts';
import { added, mono, pinkNoise, sine, stereo } from '../helpers/signals.ts';
import { giveFiles, openApp, type OpenApp } from './open-app.ts';

let app: OpenApp;
const folder = mkdtempSync(join(tmpdir(), 'tributary-own-'));
const at = (name: string): string => join(folder, name);

beforeAll(async () => {
  const tone = sine({ hz: 220, seconds: 4, db: -12 });
  const noise = pinkNoise(4, 3, 0.05).slice(0, tone.length);
  writeFileSync(at('bass.wav'), writeWav(mono(tone), '24').bytes);
  writeFileSync(at('keys.wav'), writeWav(stereo(noise, tone), '16').bytes);
  writeFileSync(at('rough.wav'), writeWav(stereo(added(tone, noise)), '32f').bytes);
  writeFileSync(at('another rough.wav'), writeWav(stereo(added(tone, noise).map((x) => x / 4)), '32f').bytes);
  writeFileSync(at('words.wav'), 'These are words, not sound.');
  writeFileSync(at('nothing.wav'), '');
  writeFileSync(at('cut.wav'), readFileSync(at('keys.wav')).subarray(0, 5000));
  writeFileSync(at('bad.json'), JSON.stringify({ format: 'tributary-session', version: 7 }));
  app = await openApp();
  // Where there is less room, sessions are opened from the page of sessions alone.
  await app.page.setViewportSize({ width: 1440, height: 900 });
});

afterAll(async () => {
  await app.close();
  rmSync(folder, { recursive: true });
});

const give = (button: RegExp, ...names: string[]): Promise<void> => giveFiles(app.page, button, names.map(at));

const place = async (name: string, where: string): Promise<void> => {
  await app.page.getByRole('combobox', { name: new RegExp(`^Where .*${name}`) }).selectOption({ label: where });
};

const canPrint = (): Promise<void> =>
  app.page
    .getByRole('button', { name: /^Print/ })
    .and(app.page.locator(':enabled'))
    .waitFor();

/** Confirms the dialog that places dropped files. */
const takeFiles = (): Promise<void> =>
  app.page
    .getByRole('dialog')
    .getByRole('button', { name: /^(Take|Add|Put)/ })
    .last()
    .click();

test('own files become tracks and the rough, and the session comes back with them', async () => {
  const { page } = app;
  await give(/^(Add|Choose).*audio/i, 'bass.wav', 'keys.wav', 'rough.wav');
  await place('rough', 'the rough mix');
  await takeFiles();
  await canPrint();
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: 'Save session' }).click(),
  ]);
  const text = readFileSync(await download.path(), 'utf8');
  const session = parseSession(text, 'saved.json');
  expect(session.tracks.map(({ file }) => file).sort()).toEqual(['bass.wav', 'keys.wav']);
  expect(session.rough?.file).toBe('rough.wav');
  writeFileSync(at('saved.json'), text);

  await page.reload();
  await give(/^Open.*session/i, 'saved.json', 'bass.wav', 'keys.wav', 'rough.wav');
  await canPrint();
  expect(await page.getByRole('textbox', { name: 'Title of the song' }).inputValue()).toBe(session.title);
});

/** Loudness of the rough in the findings, LUFS; NaN while it is not measured. */
const roughLufs = async (): Promise<number> => {
  const row = app.page.getByRole('row', { name: /^Loudness LUFS/ }).first();
  return Number((await row.getByRole('cell').first().innerText()).replace('−', '-'));
};

test('a rough that takes the place of another is measured, and the work comes to an end', async () => {
  const { page } = app;
  // What is looked at once more may be measured anew just then.
  let before = NaN;
  await expect.poll(async () => (before = await roughLufs())).toBeLessThan(0);
  await give(/^Add audio/, 'another rough.wav');
  await place('another rough', 'the rough mix');
  await takeFiles();
  // A quarter of the level: 12.04 dB.
  await expect.poll(roughLufs).toBeCloseTo(before - 12.04, 0);
  await expect.poll(() => page.getByText(/^(Rendering what changed|Preparing the song)/).count()).toBe(0);
  expect(app.troubles).toEqual([]);
});

test.each([
  ['words.wav', /words\.wav/],
  ['nothing.wav', /nothing\.wav/],
  ['cut.wav', /cut\.wav.*bytes/],
])('%s is refused in one sentence, and the session stays', async (name, sentence) => {
  const { page } = app;
  await give(/^Add audio/, name);
  await page.getByText(sentence).first().waitFor();
  await canPrint();
  expect(app.troubles).toEqual([]);
});

test('a session of an unknown version is refused in one sentence, and the session stays', async () => {
  const { page } = app;
  const title = await page.getByRole('textbox', { name: 'Title of the song' }).inputValue();
  await give(/^Open session/, 'bad.json');
  await page
    .getByText(/bad\.json.*version/)
    .first()
    .waitFor();
  await canPrint();
  expect(await page.getByRole('textbox', { name: 'Title of the song' }).inputValue()).toBe(title);
});
