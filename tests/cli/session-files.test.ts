import { mkdirSync, writeFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { run, Workplace } from './command.ts';
import { songSession, writeSession, writeSounds } from './song.ts';
import { stereo } from '../helpers/signals.ts';

const place = new Workplace();
writeSounds(place);

test('a session reaches no file outside of its folder unless that is allowed', async () => {
  mkdirSync(place.path('bundle'));
  const { tracks, ...rest } = songSession() as { tracks: readonly { file: string }[] };
  const led = tracks.map((track) => ({ ...track, file: `../${track.file}` }));
  const session = place.path('bundle/song.json');
  writeFileSync(session, JSON.stringify({ ...rest, rough: null, tracks: led }));
  for (const command of [['check'], ['ledger'], ['print', '--out', place.path('never')]]) {
    const { code, out, err } = await run(command[0]!, session, ...command.slice(1));
    expect([code, out, place.has('never')]).toEqual([2, '', false]);
    expect(err).toContain('--allow-outside');
    expect(err).toContain('track "Bass"');
  }
  expect((await run('ledger', session, '--allow-outside')).code).toBe(0);
});

test('a song that is spread over hours is refused before it fills the memory', async () => {
  const rest = songSession() as object;
  // So many groups and buses that no machine of today measures an hour of each at once.
  const buses = Array.from({ length: 31 }, (_, n) => ({ id: `bus-${n}`, name: `Bus ${n}` }));
  const sends = buses.map(({ id }) => ({ to: id }));
  const groups = Array.from({ length: 31 }, (_, n) => ({ id: `group-${n}`, name: `Group ${n}`, sends }));
  const tracks = groups.map(({ id }, n) => ({
    ...{ id: `track-${n}`, name: `Track ${n}`, file: 'keys.wav', group: id },
    offsetSeconds: 590 * n,
  }));
  const session = place.write('late.json', JSON.stringify({ ...rest, tracks, groups, buses }));
  const { code, err } = await run('check', session);
  expect(code).toBe(2);
  expect(err).toMatch(
    /takes at most \d+\.\d GB of memory to render, .*Track 30 begins at 17700 s.*which take \d+\.\d GB/,
  );
});

test.each([700, 3600, 36_000])(
  'a track before which nothing sounds for %i s is taken to be misplaced',
  async (late) => {
    const rest = songSession() as { tracks: object[] };
    const tracks = rest.tracks.map((track, n) => ({ ...track, offsetSeconds: n === 1 ? late : 0 }));
    const session = place.write('gap.json', JSON.stringify({ ...rest, tracks }));
    const { code, out, err } = await run('check', session);
    expect([code, out]).toEqual([2, '']);
    expect(err).toMatch(
      /: tracks\[1\]\.offsetSeconds must be a place at most 600 s after the sound before it, not \d+ \(nothing sounds for \d+ s before \w+ begins\)\.$/m,
    );
  },
);

test('samples that are no sound are told, by commands and by measure', async () => {
  place.writeAudio('keys.wav', stereo(new Float32Array(96_000).fill(1e20)));
  const session = writeSession(place, 'damaged.json');
  const { err } = await run('ledger', session);
  expect(err).toContain('keys.wav is probably damaged: it has samples at 400 dBFS.');
  const { out } = await run('measure', place.path('keys.wav'), '--json');
  expect((JSON.parse(out) as { notes: object }[])[0]!.notes).toMatchObject({
    samplePeakDbfs: 'probably damaged: beyond +40 dBFS',
  });
});
