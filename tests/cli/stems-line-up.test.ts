import { mkdirSync, readdirSync, readFileSync, renameSync } from 'node:fs';
import { expect, test } from 'vitest';
import { timeReferenceOf } from '../../src/files/wav/time-reference.ts';
import { parseSession } from '../../src/session/read/parse.ts';
import { run, Workplace } from './command.ts';
import { writeSession, writeSounds } from './song.ts';

const RATE = 48_000;

test('stems of two parts of a song are put where they were by their time references alone', async () => {
  const place = new Workplace();
  writeSounds(place);
  const session = writeSession(place, 'song.json');
  mkdirSync(place.path('all'));
  for (const [span, name] of [
    ['0.5-1.25', 'first'],
    ['1.75-2.5', 'second'],
  ] as const) {
    const { code } = await run('print', session, '--out', place.path(name), '--kinds', 'stems', '--span', span);
    expect(code).toBe(0);
    for (const file of readdirSync(place.path(name)).filter((each) => each.endsWith('.wav')))
      renameSync(place.path(`${name}/${file}`), place.path(`all/${name} ${file}`));
  }
  const files = readdirSync(place.path('all'));
  expect(files).toHaveLength(6);
  // The file itself tells its place in samples (EBU Tech 3285).
  for (const file of files) {
    const seconds = file.startsWith('first') ? 0.5 : 1.75;
    expect(timeReferenceOf(readFileSync(place.path(`all/${file}`)))).toBe(seconds * RATE);
  }
  await run('intake', place.path('all'), '--out', place.path('placed.json'));
  const { tracks } = parseSession(place.readText('placed.json'), 'placed.json');
  const starts = tracks.map(({ file, offsetSeconds }) => [file.includes('first') ? 'first' : 'second', offsetSeconds]);
  expect(new Set(starts.map(String))).toEqual(new Set(['first,0', 'second,1.25']));
});
