import { describe, expect, test } from 'vitest';
import type { LedgerInput } from '../../src/blend/ledger/ledger.ts';
import { finished } from '../../src/audio/steps.ts';
import { renderDirect } from '../../src/render/direct.ts';
import { StripCache } from '../../src/render/strip-cache.ts';
import { originsOf } from '../../src/render/origins.ts';
import { ledgerSteps } from '../../src/engine/jobs/ledger-desk.ts';
import type { LedgerJob } from '../../src/engine/jobs/ledger-jobs.ts';
import { ledgerBy, processorsBy, type LedgerStudio } from '../../src/engine/jobs/ledger-rounds.ts';
import { runJson, Workplace } from '../cli/command.ts';
import { writeSession, writeSounds } from '../cli/song.ts';
import { expectAlike } from '../ui/expect-alike.ts';
import { cut, songFromDisk } from '../ui/song-from-disk.ts';

const place = new Workplace();
writeSounds(place);

const drive = { id: 'd', processor: 'saturator', settings: { drive: 12 } };
const darker = { id: 'e', processor: 'eq', settings: { 'band6.on': true, 'band6.gain': -9 } };
const room = { id: 'r', processor: 'reverb', settings: { decay: 0.6 } };
const split = {
  id: 's',
  split: [{ id: 'c', processor: 'compressor', settings: { threshold: -30, ratio: 4 } }],
  mix: 60,
};
const silent = { id: 'off', processor: 'gain', on: false };

/** Two groups, one with a chain and a fader, its track with a chain; a bus with three items, one that feeds another. */
const song = writeSession(place, 'song.json', {
  sections: [{ name: 'Late', startSeconds: 1, endSeconds: 3.5 }],
  tracks: [
    { id: 'bass-track', name: 'Bass', file: 'bass.wav', group: 'bass', gainDb: -3, pan: -0.3, chain: [darker] },
    { id: 'keys-track', name: 'Keys', file: 'keys.wav', group: 'keys', offsetSeconds: 0.25 },
  ],
  groups: [
    { id: 'bass', name: 'Bass', faderDb: -2, chain: [darker], sends: [{ to: 'double', levelDb: -4 }] },
    { id: 'keys', name: 'Keys', sends: [{ to: 'air' }, { to: 'double', levelDb: -8, tap: 'pre-fader' }] },
  ],
  buses: [
    { id: 'double', name: 'Double', blendDb: -9, chain: [drive, split, silent], sends: [{ to: 'air', levelDb: -6 }] },
    { id: 'air', name: 'Air', blendDb: -15, chain: [room] },
  ],
});

const LATE = { startSeconds: 1, endSeconds: 3.5 };

/** The engine of the app without a browser: renders as it does, and the worker's steps in place of the worker. */
const studioOf = async (path: string) => {
  const { session, plan, paths, planOf, received } = await songFromDisk(path);
  const inputs = [...paths].map(([id, audio]): LedgerInput => ({
    id,
    audio: cut(audio, plan.soundFrames),
    ...originsOf(plan).get(id)!,
  }));
  const jobs: LedgerJob['part'][] = [];
  const strips = new StripCache();
  await renderDirect(planOf(session).plan, planOf(session).sources, { cache: strips });
  const studio: LedgerStudio = {
    ...{ session, plan, paths, planOf, received, strips, render: renderDirect },
    ask: (job, { onProgress, signal }) => {
      signal?.throwIfAborted();
      jobs.push(job.part);
      // It crosses into a worker.
      return Promise.resolve(finished(ledgerSteps(structuredClone(job), inputs), onProgress)) as never;
    },
  };
  return { studio, jobs };
};

const told = async (...options: readonly string[]) =>
  (await runJson('ledger', song, ...options)) as {
    readonly mix: unknown;
    readonly flow: { readonly nodes: unknown[] };
    readonly paths: readonly Record<string, unknown>[];
  };

/** The rows of the command line without what stands in the session anyway. */
const rowsOnly = (paths: readonly Record<string, unknown>[]): unknown[] =>
  paths.map((row) =>
    Object.fromEntries(Object.entries(row).filter(([key]) => !['name', 'kind', 'on', 'blendDb'].includes(key))),
  );

describe('the ledger in the app is that of the command line', () => {
  test.each([
    ['the whole song', null, []],
    ['a section', LATE, ['--section', 'late']],
  ])('what each path does, first-in too, and the flow, over %s', async (_, section, options) => {
    const { studio } = await studioOf(song);
    const parts: number[] = [];
    const answer = await ledgerBy({ kind: 'ledger', section }, studio, { onProgress: (part) => parts.push(part) });
    const { mix, flow, paths } = await told(...options);
    expectAlike(answer, { mix, flow, paths: rowsOnly(paths) });
    expect(answer.paths.every(({ firstIn }) => firstIn !== null)).toBe(true);
    expect(answer.flow.links).toHaveLength(10);
    expect(parts).toEqual(parts.toSorted((a, b) => a - b));
  });

  test.each([
    ['the whole song', null, []],
    ['a section', LATE, ['--section', 'late']],
  ])('what each processor of a chain does, over %s', async (_, section, options) => {
    const { studio, jobs } = await studioOf(song);
    const rows = await processorsBy({ kind: 'processors', path: 'double', section }, studio);
    const { paths } = await told('--path', 'double', ...options);
    expectAlike(rows, paths.find(({ id }) => id === 'double')!['processors']);
    expect(rows.map(({ item }) => item)).toEqual(['d', 's', 'c']);
    expect(jobs).toEqual(['mix', 'mix', 'mix', 'mix']);
  });
});

test('what flows into the mix adds up to all of it, and so does what the tracks bring', async () => {
  const { studio } = await studioOf(song);
  const { flow } = await ledgerBy({ kind: 'ledger', section: null }, studio);
  const into = flow.links.filter(({ to }) => to === null).reduce((sum, { share }) => sum + share, 0);
  const brought = flow.nodes.filter(({ kind }) => kind === 'source').reduce((sum, { share }) => sum + share, 0);
  expect(into).toBeCloseTo(1, 9);
  expect(brought).toBeCloseTo(1, 9);
});

test('a ledger that is withdrawn stops before its next part', async () => {
  const { studio, jobs } = await studioOf(song);
  const work = new AbortController();
  const asking = { signal: work.signal, onProgress: () => work.abort(new DOMException('not wanted', 'AbortError')) };
  await expect(ledgerBy({ kind: 'ledger', section: null }, studio, asking)).rejects.toThrow('not wanted');
  expect(jobs).toEqual(['energy']);
});

test('a section behind the end of the song is refused with one sentence', async () => {
  const { studio } = await studioOf(song);
  const section = { startSeconds: 60, endSeconds: 70 };
  await expect(ledgerBy({ kind: 'ledger', section }, studio)).rejects.toThrow(
    'That section begins behind the end of the song: choose another one.',
  );
});
