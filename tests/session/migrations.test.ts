import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { songFacts } from '../../demo-audio/generator/facts.ts';
import { makePlan } from '../../src/render/plan/make-plan.ts';
import { migrated } from '../../src/session/migrations/migrate.ts';
import { processorItems } from '../../src/session/chain/chain-items.ts';
import { parseSession, problemsOf } from '../../src/session/read/parse.ts';
import { busSetFrom, presetFrom } from '../../src/session/presets/read-preset.ts';

// The demo session as it was when format version 2 came.
const DEMO = new URL('version-1-demo.json', import.meta.url);
const demoText = readFileSync(DEMO, 'utf8');
// The same when version 3 came.
const version2Text = readFileSync(new URL('version-2-demo.json', import.meta.url), 'utf8');

/** What stands where, by path. */
const leaves = (value: unknown, path = ''): [string, unknown][] =>
  typeof value === 'object' && value !== null
    ? Object.entries(value).flatMap(([key, inner]) => leaves(inner, `${path}/${key}`))
    : [[path, value]];

/** The JSON without what versions 3 and 4 say of oversampling and detectors, and how often they are said. */
const withoutAdded = (json: unknown): { readonly json: unknown; readonly counts: readonly number[] } => {
  const added = [',"detector":"peak"', ',"oversampling":"off"'];
  const text = JSON.stringify(json);
  return {
    json: JSON.parse(added.reduce((left, words) => left.replaceAll(words, ''), text)),
    counts: added.map((words) => text.split(words).length - 1),
  };
};

/** The JSON without the received balance, which no version before it had. */
const withoutBalance = (json: unknown): unknown =>
  JSON.parse(JSON.stringify(json, (key, value: unknown) => (key === 'receivedBalance' ? undefined : value)));

/** Each different way in which a leaf is called or stands otherwise, of two documents with equally many. */
const changesOf = (before: unknown, after: unknown): string[] => {
  const [old, now] = [leaves(before), leaves(withoutBalance(after))];
  expect(now).toHaveLength(old.length);
  const changes = old.flatMap(([path, value], n) => {
    const [newPath, newValue] = now[n]!;
    if (path === newPath && value === newValue) return [];
    const last = (text: string): string => text.slice(text.lastIndexOf('/') + 1);
    return path === newPath
      ? [`${last(path)}: ${String(value)} -> ${String(newValue)}`]
      : [`${last(path)} -> ${last(newPath)}`];
  });
  return [...new Set(changes)].sort();
};

test('the demo session of version 1 opens; names change, and no number and nothing else', () => {
  expect(parseSession(demoText, 'demo.json').version).toBe(4);
  const { json, counts } = withoutAdded(migrated(JSON.parse(demoText)));
  for (const count of counts) expect(count).toBeGreaterThan(0);
  expect(changesOf(JSON.parse(demoText), json)).toMatchInlineSnapshot(`
    [
      "amount -> mix",
      "depth -> range",
      "selectivity -> prominence",
      "tap: after fader -> post-fader",
      "tap: before fader -> pre-fader",
      "version: 1 -> 4",
      "voice -> vocal",
      "wet -> mix",
    ]
  `);
});

test('every name that version 2 changed is brought over, in passes too, and the order stays', () => {
  const chain = [
    { id: 'a', wet: 40, split: [{ id: 'b', processor: 'saturator', wet: 50, settings: { drive: 6, amount: 80 } }] },
    { id: 'c', processor: 'modulation', settings: { swing: 'steady', depth: 2 } },
    { id: 'd', processor: 'compressor', settings: { listen: 'key', ratio: 4 } },
    { id: 'e', processor: 'gate', settings: { listen: 'own' } },
    { id: 'f', processor: 'delay', settings: { style: 'ping-pong' } },
    { id: 'g', processor: 'harshness-control', settings: { depth: 8, selectivity: 2, from: 900, difference: true } },
    { id: 'h', processor: 'sub-octave', settings: { upTo: 90, output: 'sub alone' } },
    { id: 'i', processor: 'tape', settings: { amount: 70 } },
    { id: 'j', processor: 'eq', settings: { 'band1.slope': '36 dB/oct' } },
  ];
  const mix = {
    tracks: [{ id: 'kick', name: 'Kick', file: 'kick.wav', group: 'drums' }],
    groups: [{ id: 'drums', name: 'Drums', voice: true, sends: [{ to: 'bus', tap: 'before fader' }] }],
    buses: [{ id: 'bus', name: 'Bus', key: 'drums', chain, sends: [] }],
    mixBus: { trimDb: 0, chain: [{ id: 'k', processor: 'tape', settings: { amount: 5 } }] },
  };
  const old = {
    format: 'tributary-session',
    version: 1,
    title: 'Old',
    sampleRate: 48_000,
    ...mix,
    guards: [{ guard: 'mono fold loss', limit: 2 }],
    passes: [{ id: 'pass', name: 'Pass', ...mix }],
  };
  expect(problemsOf(old)).toEqual([]);
  const now = parseSession(JSON.stringify(old), 'old.json');
  expect(now.groups[0]).toMatchObject({ vocal: true, sends: [{ tap: 'pre-fader' }] });
  expect(now.guards[0]!.guard).toBe('mono loss');
  expect(now.notes).toBe('');
  for (const { buses, mixBus } of [now, now.passes[0]!]) {
    expect(mixBus.chain[0]).toMatchObject({ settings: { mix: 5 } });
    expect(buses[0]!.chain).toMatchObject([
      { mix: 40, split: [{ mix: 50, settings: { drive: 6, mix: 80 } }] },
      { processor: 'chorus', settings: { lfo: 'triangle', depth: 2 } },
      { settings: { sideChain: 'external', ratio: 4 } },
      { settings: { sideChain: 'internal' } },
      { settings: { mode: 'ping-pong' } },
      { settings: { range: 8, prominence: 2, from: 900, listenToRemoved: true } },
      { settings: { highestFundamental: 90, output: 'sub only' } },
      { settings: { mix: 70 } },
      { settings: { 'band1.slope': '36 dB/oct' } },
    ]);
  }
});

test('EQ cuts that are steeper than version 2 has become 48 dB/oct, and the notes say so', () => {
  const item = { processor: 'eq', settings: { 'band1.on': true, 'band1.slope': '96 dB/oct' } };
  const head = { format: 'tributary-session', version: 1, title: 'Old', sampleRate: 48_000, notes: 'Mine.' };
  const old = { ...head, tracks: [], groups: [], mixBus: { chain: [item] } };
  const now = parseSession(JSON.stringify(old), 'old.json');
  expect(now.mixBus.chain[0]).toMatchObject({ settings: { 'band1.slope': '48 dB/oct' } });
  expect(now.notes).toMatch(/^Mine\.\nOpened from format version 1: .*48 dB\/oct/);
});

test('presets and bus sets of version 1 are read', () => {
  const words = { format: 'tributary-preset', version: 1, name: 'old', purpose: 'p', listenFor: 'l', caution: 'c' };
  const chain = [{ processor: 'tape', wet: 50, settings: { amount: 40 } }];
  const preset = {
    ...words,
    kind: 'chain',
    suits: ['drums'],
    usualBlendDb: null,
    level: { kind: 'as it comes' },
    claims: [{ claim: 'gives way to its key' }],
    chain,
  };
  expect(presetFrom(preset, 'old.json')).toMatchObject({
    claims: [{ claim: 'ducks to its key' }],
    chain: [{ mix: 50, settings: { mix: 40 } }],
  });
  const set = {
    ...words,
    kind: 'bus set',
    buses: [{ name: 'b', chain, feeds: [{ role: 'drums', tap: 'before fader' }] }],
  };
  expect(busSetFrom(set, 'old.json', [])).toMatchObject({
    buses: [{ feeds: [{ tap: 'pre-fader' }], chain: [{ mix: 50 }] }],
  });
});

test.each([
  [null],
  [[]],
  ['text'],
  [{ format: 'tributary-session', version: 1, tracks: 5, groups: [null], buses: { a: 1 } }],
])('what has the wrong shape is told by the schema, not here: %j', (json) => {
  expect(problemsOf(json).length).toBeGreaterThan(0);
});

test('the demo session of version 2 opens; its version is another, and its fast compressors are not oversampled', () => {
  const before: unknown = JSON.parse(version2Text);
  const { json, counts } = withoutAdded(migrated(before));
  expect(changesOf(before, json)).toEqual(['version: 2 -> 4']);
  for (const count of counts) expect(count).toBeGreaterThan(0);
});

test('a compressor of version 2 that would now be oversampled says that it is not', () => {
  const settings = (given: object): object => {
    const chain = [{ id: 'a', split: [{ id: 'b', processor: 'compressor', settings: given }] }];
    const { buses } = migrated({ format: 'tributary-session', version: 2, buses: [{ chain }] }) as {
      buses: { chain: { split: { settings: object }[] }[] }[];
    };
    return buses[0]!.chain[0]!.split[0]!.settings;
  };
  expect(settings({ attack: 0.5 })).toEqual({ attack: 0.5, detector: 'peak', oversampling: 'off' });
  expect(settings({ release: 10, detector: 'peak' })).toMatchObject({ oversampling: 'off' });
  for (const same of [
    { attack: 1, detector: 'peak' },
    { attack: 0.5, detector: 'rms' },
    { attack: 0.5, detector: 'peak', oversampling: '8x' },
  ])
    expect(settings(same)).toEqual(same);
});

test('the demo session of version 2 sounds as it did: inputs, delays and latencies of its strips are those of its time', () => {
  const session = parseSession(version2Text, 'demo.json');
  const mono = new Set(songFacts.tracks.filter(({ channels }) => channels === 1).map(({ id }) => id));
  const facts = new Map(
    session.tracks.map(({ id }) => [id, { frames: 1_920_000, channels: mono.has(id) ? 1 : 2, hash: id }]),
  );
  const strips = makePlan(session, facts).strips.map(({ id, spec: { inputs, keyInputs }, from, latency }) => {
    return { id, from: from.map((ref) => `${ref.kind} ${ref.id}`), inputs, keyInputs, latency };
  });
  // What version 2 planned of it, number by number; its chains stand in the file, and the test above holds them to that.
  expect(strips).toEqual(JSON.parse(readFileSync(new URL('version-2-strips.json', import.meta.url), 'utf8')));
});

test('what version 3 added is neutral where a file does not name it, but that buses are solo-safe', () => {
  const { panLaw, rough, tracks, groups, buses } = parseSession(version2Text, 'demo.json');
  expect(panLaw).toBe('-3 dB');
  expect(rough).toMatchObject({ chain: [], sends: [] });
  for (const track of tracks) expect(track).toMatchObject({ channels: 'stereo', key: null, sends: [] });
  expect(groups.map(({ soloSafe }) => soloSafe)).not.toContain(true);
  expect(buses.map(({ soloSafe }) => soloSafe)).not.toContain(false);
});

test('a compressor of version 3 that names no detector keeps the peak detector, wherever it stands', () => {
  const bare = { processor: 'compressor', settings: { threshold: -30, ratio: 4 } };
  const mix = {
    rough: { file: 'rough.wav', chain: [bare] },
    tracks: [{ id: 'kick', name: 'Kick', file: 'kick.wav', group: 'drums', chain: [bare] }],
    groups: [{ id: 'drums', name: 'Drums', chain: [{ split: [bare] }] }],
    buses: [{ id: 'bus', name: 'Bus', chain: [{ ...bare, settings: { detector: 'rms' } }] }],
    mixBus: { chain: [{ processor: 'compressor' }] },
  };
  const pass = { id: 'pass', name: 'Pass', ...mix, rough: { chain: [bare] } };
  const old = { format: 'tributary-session', version: 3, title: 'Old', sampleRate: 48_000, ...mix, passes: [pass] };
  const now = parseSession(JSON.stringify(old), 'old.json');
  for (const { rough, tracks, groups, buses, mixBus } of [now, now.passes[0]!]) {
    const chains = [rough!, tracks[0]!, groups[0]!, buses[0]!, mixBus].map(({ chain }) => processorItems(chain)[0]!);
    expect(chains.map(({ settings }) => settings.detector)).toEqual(['peak', 'peak', 'peak', 'rms', 'peak']);
  }
  const fresh = parseSession(JSON.stringify({ ...old, version: 4 }), 'new.json');
  expect(fresh.tracks[0]!.chain).toMatchObject([{ settings: bare.settings }]);
});

test('presets and bus sets of version 2 keep the peak detector', () => {
  const chain = [{ processor: 'compressor', settings: { ratio: 4 } }];
  const of = { format: 'tributary-preset', version: 2 };
  expect(migrated({ ...of, chain, buses: [{ chain }, { chain: 'drum squeeze' }] })).toEqual({
    ...of,
    version: 3,
    chain: [{ processor: 'compressor', settings: { ratio: 4, detector: 'peak' } }],
    buses: [
      { chain: [{ processor: 'compressor', settings: { ratio: 4, detector: 'peak' } }] },
      { chain: 'drum squeeze' },
    ],
  });
});

test('a version that is to come is refused by its number', () => {
  expect(problemsOf({ format: 'tributary-session', version: 5 })[0]).toMatchObject({
    code: 'unknown-version',
    found: '5',
  });
});
