import { expect, test } from 'vitest';
import { presets } from '../../src/session/presets.ts';
import { run, runJson } from './command.ts';

test('the list has every preset with its name, kind and purpose', async () => {
  const list = (await runJson('presets')) as Record<string, unknown>[];
  expect(list.map(({ name, kind, purpose }) => [name, kind, purpose])).toEqual(
    presets.map(({ name, kind, purpose }) => [name, kind, purpose]),
  );
});

test('the readable list is one line each; with --details what to listen for and how it is used', async () => {
  const { out } = await run('presets');
  expect(out.trimEnd().split('\n')).toHaveLength(presets.length);
  const details = await run('presets', '--details');
  const squeeze = presets.find(({ name }) => name === 'drum squeeze')!;
  expect(details.out).toContain(squeeze.listenFor);
  expect(details.out).toContain(squeeze.caution);
  expect(details.out).toContain(`beside the dry at ${squeeze.usualBlendDb![0]} to ${squeeze.usualBlendDb![1]} dB`);
  expect(details.out).toContain('in series');
});
