import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { readAudioFile } from '../../src/files/node/node-files.ts';
import { writeWav } from '../../src/files/wav/wav-write.ts';
import { parseSession } from '../../src/session/read/parse.ts';
import { casesOf } from '../helpers/soak.ts';
import { giveFiles, openApp, type OpenApp } from './open-app.ts';
import { expectNull, printFromApp, printFromNode, untilPrintable } from './prints.ts';

// Some seconds of the demo song from its chorus, with all of its chains; when soaking all of it.

const FROM_SECONDS = casesOf(20, 0);
const SECONDS = casesOf(2, 40);

let app: OpenApp;
const folder = mkdtempSync(join(tmpdir(), 'tributary-short-'));
const sessionFile = join(folder, 'session.json');

/** Writes the stretch of one file of the demo into the folder under `name`; answers where it stands. */
const cutFile = async (file: string, name: string): Promise<string> => {
  const { sampleRate, channels } = await readAudioFile(join('demo-audio', file));
  const cut = channels.map((channel) =>
    channel.slice(FROM_SECONDS * sampleRate, (FROM_SECONDS + SECONDS) * sampleRate),
  );
  writeFileSync(join(folder, name), writeWav({ sampleRate, channels: cut }, '24').bytes);
  return join(folder, name);
};

beforeAll(async () => {
  const { rough, tracks, ...session } = parseSession(readFileSync('demo-audio/session.json', 'utf8'), 'session.json');
  const short = {
    ...session,
    sections: [],
    rough: { ...rough, file: 'rough.wav' },
    tracks: tracks.map((track) => ({ ...track, file: `${track.id}.wav` })),
  };
  writeFileSync(sessionFile, JSON.stringify(short));
  const files = [await cutFile(rough!.file, 'rough.wav')];
  for (const { id, file } of tracks) files.push(await cutFile(file, `${id}.wav`));
  app = await openApp();
  await giveFiles(app.page, /^Open.*session/i, [sessionFile, ...files]);
  await untilPrintable(app.page);
});

afterAll(async () => {
  await app.close();
  rmSync(folder, { recursive: true });
});

test('what the app prints and what the command line prints null below -140 dBFS, path by path', async () => {
  const fromNode = await printFromNode(sessionFile, '--kinds', 'main,stems');
  const fromApp = await printFromApp(app.page, (dialog) => dialog.getByRole('checkbox', { name: /^Stems:/ }).check());
  expect(fromNode.size).toBeGreaterThan(15);
  expectNull(fromApp, fromNode);
});

test('the prints of the app and of the command line null with and without vocals, at another rate and brought to a loudness', async () => {
  const kinds = 'main,instrumental,a-cappella';
  const fromNode = await printFromNode(
    sessionFile,
    '--kinds',
    kinds,
    '--rate',
    '44100',
    '--target',
    '-18',
    '--ceiling',
    '-2',
  );
  const fromApp = await printFromApp(app.page, async (dialog) => {
    await dialog.getByRole('checkbox', { name: /^Stems:/ }).uncheck();
    await dialog.getByLabel('Sample rate').selectOption('44100');
    for (const kind of [/Instrumental/, /A cappella/]) await dialog.getByRole('checkbox', { name: kind }).check();
    await dialog.getByRole('checkbox', { name: 'Loudness target' }).check();
    await dialog.getByRole('textbox', { name: 'Loudness target' }).fill('-18');
    await dialog.getByRole('checkbox', { name: 'True-peak ceiling' }).check();
    await dialog.getByRole('textbox', { name: 'True-peak ceiling' }).fill('-2');
    await dialog.getByRole('textbox', { name: 'True-peak ceiling' }).blur();
  });
  expect(fromNode.size).toBe(3);
  expectNull(fromApp, fromNode);
});
