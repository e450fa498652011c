import { readdirSync } from 'node:fs';
import { expect, test } from 'vitest';
import { chainLatency } from '../../../src/dsp/core/chain.ts';
import { presetByName, presets } from '../../../src/session/presets/presets.ts';
import { chainFrom, presetFrom } from '../../../src/session/presets/read-preset.ts';
import { stepsOf } from '../../../src/session/values.ts';
import { sentenceOf } from '../../../src/session/problem.ts';
import { problemFrom } from '../../helpers/session-file.ts';

const preset = (fields: object = {}): unknown => ({
  format: 'tributary-preset',
  version: 3,
  kind: 'chain',
  name: 'half',
  purpose: 'Halves.',
  listenFor: 'Less.',
  caution: 'None.',
  suits: ['mix'],
  usualBlendDb: null,
  level: { kind: 'levelled' },
  claims: [{ claim: 'lowers crest' }],
  chain: [{ processor: 'gain', settings: { gain: -6 } }],
  ...fields,
});

const said = (fields: object): string => sentenceOf(problemFrom(() => presetFrom(preset(fields), 'presets/half.json')));

test('every file of the presets folder is a valid preset with a name of its own, and its file is called after it', () => {
  const files = readdirSync('presets').filter((file) => file.endsWith('.json'));
  expect(files.length).toBeGreaterThanOrEqual(40);
  expect(presets.map(({ name }) => `${name.replaceAll(' ', '-')}.json`).sort()).toEqual(files.sort());
  expect(new Set(presets.map(({ name }) => name.toLowerCase())).size).toBe(presets.length);
});

test('every preset changes the sound: at least one processor is on and away from its neutral settings', () => {
  for (const { name, chain } of presets) {
    const steps = stepsOf(chain, 120, [4, 4]);
    const neutral = stepsOf(
      chain.map((item) => ({ ...item, settings: {} })),
      120,
      [4, 4],
    );
    expect(steps, name).not.toEqual(neutral);
    expect(Number.isInteger(chainLatency(steps, 48_000)), name).toBe(true);
  }
});

test('a usual blend runs from quiet to loud', () => {
  for (const { name, usualBlendDb } of presets)
    if (usualBlendDb) expect(usualBlendDb[0], name).toBeLessThan(usualBlendDb[1]);
});

test('a preset is found by its name, however that is written', () => {
  for (const each of presets) {
    expect(presetByName(each.name.toUpperCase())).toBe(each);
    expect(presetByName(` ${each.name.replaceAll(' ', '-')} `)).toBe(each);
  }
  expect(presetByName('no such thing')).toBeUndefined();
});

test('what is wrong with a preset is one clear sentence', () => {
  expect([
    said({ chain: [] }),
    said({ chain: [{ processor: 'loudener' }] }).replace(/be .*, not/, 'be …, not'),
    said({ chain: [{ processor: 'gain', settings: { gain: 99 } }] }),
    said({ caution: undefined }),
    said({ version: 7 }),
    said({ format: 'tributary-session' }),
  ]).toMatchInlineSnapshot(`
    [
      "presets/half.json: chain must be at least one processor, not an empty list.",
      "presets/half.json: chain[0].processor must be …, not "loudener".",
      "presets/half.json: chain[0].settings.gain must be between -60 and 24 dB, not 99.",
      "presets/half.json: caution is missing: expected a text.",
      "presets/half.json: version is 7, but this program reads version 3.",
      "presets/half.json: format does not fit: expected "tributary-preset", found "tributary-session".",
    ]
  `);
});

test('a bare list of chain items is a chain too', () => {
  expect(chainFrom([{ processor: 'gain' }, { processor: 'gain' }], 'chain.json').map(({ id }) => id)).toEqual([
    'gain',
    'gain-2',
  ]);
  expect(chainFrom(preset(), 'half.json')).toHaveLength(1);
  const problem = problemFrom(() => chainFrom([{ processor: 'gain', settings: { gain: 99 } }], 'chain.json'));
  expect(sentenceOf(problem)).toMatchInlineSnapshot(
    `"chain.json: [0].settings.gain must be between -60 and 24 dB, not 99."`,
  );
});

test('a bare list of chain items may use the names of any format version', () => {
  const [old] = chainFrom([{ processor: 'modulation', wet: 40, settings: { swing: 'even' } }], 'chain.json');
  const [now] = chainFrom([{ processor: 'chorus', mix: 40, settings: { lfo: 'sine' } }], 'chain.json');
  expect({ ...old, id: '' }).toEqual({ ...now, id: '' });
});
