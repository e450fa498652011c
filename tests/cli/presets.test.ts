import { expect, test } from 'vitest';
import { busSets } from '../../src/session/bus-sets/bus-sets.ts';
import { guardSets } from '../../src/session/guard-set.ts';
import { presets } from '../../src/session/presets/presets.ts';
import { run, runJson } from './command.ts';

test('the list has every preset with its name, kind and purpose', async () => {
  const list = (await runJson('presets')) as Record<string, unknown>[];
  expect(list.map(({ name, kind, purpose }) => [name, kind, purpose])).toEqual(
    [...presets, ...busSets, ...guardSets].map(({ name, kind, purpose }) => [name, kind, purpose]),
  );
});

test('a preset states its level; a set of buses has its own kind, and names what feeds each bus', async () => {
  const list = (await runJson('presets')) as Record<string, unknown>[];
  expect(list.find(({ name }) => name === 'drum squeeze')).toMatchObject({
    kind: 'chain',
    level: { kind: 'levelled' },
  });
  const start = list.find(({ name }) => name === 'three-bus start') as { kind: string; buses: { feeds: string[] }[] };
  expect(start.kind).toBe('bus set');
  expect(start.buses.map(({ feeds }) => feeds)).toEqual([['drums'], ['guitars', 'keys', 'backing vocal'], ['all']]);
});

test('the readable list is one line each; with --details what to listen for and how it is used', async () => {
  const { out } = await run('presets');
  expect(out.trimEnd().split('\n')).toHaveLength(presets.length + busSets.length + guardSets.length);
  const details = await run('presets', '--details');
  const squeeze = presets.find(({ name }) => name === 'drum squeeze')!;
  expect(details.out).toContain(squeeze.listenFor);
  expect(details.out).toContain(squeeze.caution);
  expect(details.out).toContain(`in parallel at ${squeeze.usualBlendDb![0]} to ${squeeze.usualBlendDb![1]} dB`);
  expect(details.out).toContain('in series');
  const ceiling = guardSets[0]!.guards.find(({ guard }) => guard === 'true-peak ceiling')!;
  expect(details.out).toContain(`true-peak ceiling: at most ${ceiling.limit} dBTP; ${ceiling.source}`);
  expect(details.out).toContain('Drum squeeze at -8 dB from drums, Side spread at');
});
