import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { run, runJson, Workplace } from './command.ts';
import { writeSession, writeSounds } from './song.ts';

// Kinds of prints, parts of a song, passes, deliveries and names. What is expected is arithmetic on samples: sums, cuts, gains.

interface Printed {
  readonly files: readonly {
    readonly path: string;
    readonly kind: string;
    readonly target?: string;
    readonly bits: string;
    readonly integratedLufs: number;
    readonly truePeakDbtp: number;
  }[];
  readonly gainDb: number;
  readonly levels: readonly { readonly target: string | null; readonly gainDb: number; readonly met: boolean }[];
  readonly notes: readonly string[];
  readonly manifest: string;
}

const place = new Workplace();
writeSounds(place);
const mix = {
  tracks: [
    { id: 'bass-track', name: 'Bass', file: 'bass.wav', group: 'bass' },
    { id: 'keys-track', name: 'Keys', file: 'keys.wav', group: 'keys' },
  ],
  groups: [
    { id: 'bass', name: 'Bass', sends: [{ to: 'double' }] },
    { id: 'keys', name: 'Keys', sends: [{ to: 'plate', levelDb: -6 }] },
  ],
  buses: [
    { id: 'double', name: 'Bass double', blendDb: -3, chain: [{ processor: 'gain', settings: { gain: 6 } }] },
    {
      id: 'plate',
      name: 'Plate',
      blendDb: -9,
      chain: [{ processor: 'limiter' }, { processor: 'reverb', settings: { mix: 100, decay: 0.6 } }],
    },
  ],
};
const session = writeSession(place, 'kinds.json', {
  ...mix,
  mixBus: { trimDb: 0, chain: [{ processor: 'gain', settings: { gain: 0 } }] },
  sections: [
    { name: 'Verse', startSeconds: 0, endSeconds: 1 },
    { name: 'Chorus', startSeconds: 1, endSeconds: 2.25 },
  ],
  passes: [{ id: 'first', name: 'First pass', ...mix, groups: mix.groups.map((group) => ({ ...group, faderDb: -6 })) }],
});

const print = async (folder: string, ...args: readonly string[]): Promise<Printed> =>
  (await runJson('print', session, '--out', place.path(folder), '--bits', '32f', ...args)) as Printed;

const samplesOf = ({ path }: { readonly path: string }): readonly Float32Array[] =>
  place.readAudio(path.slice(place.folder.length + 1)).channels;

/** The largest sample of a sum of sounds times gains, dBFS. */
const sumDb = (parts: readonly (readonly [readonly Float32Array[], number])[]): number => {
  let most = 0;
  parts[0]![0].forEach((channel, c) => {
    for (let i = 0; i < channel.length; i++)
      most = Math.max(most, Math.abs(parts.reduce((sum, [channels, gain]) => sum + gain * channels[c]![i]!, 0)));
  });
  return 20 * Math.log10(most);
};

const whole = await print(
  'whole',
  ...['--kinds', 'main,group-stems,returns', '--without', 'keys', '--pairs', 'double,plate', '--names', '{kind}'],
);
const named = (words: string, { files }: Printed = whole) => {
  const file = files.find(({ path }) => path.includes(`/${words}.`));
  if (!file) throw new Error(`there is no ${words} among ${files.map(({ path }) => path).join()}`);
  return samplesOf(file);
};

test('groups and returns add up to what goes into the mix bus, below -120 dB', () => {
  const kinds = whole.files.map(({ path, kind }) => [path.split('/').at(-1), kind]);
  expect(kinds).toEqual([
    ['main.wav', 'main'],
    ['without Keys.wav', 'without'],
    ['Bass.wav', 'group-stems'],
    ['Keys.wav', 'group-stems'],
    ['Bass double.wav', 'returns'],
    ['Plate.wav', 'returns'],
    ['Bass double wet.wav', 'wet'],
    ['Bass double dry.wav', 'dry'],
    ['Plate wet.wav', 'wet'],
    ['Plate dry.wav', 'dry'],
  ]);
  const stems = ['Bass', 'Keys', 'Bass double', 'Plate'].map((words) => [named(words), -1] as const);
  expect(sumDb([[named('main'), 1], ...stems])).toBeLessThan(-120);
});

test('the mix without a group is the mix less it and all that it alone feeds', () => {
  const left = [[named('Bass'), -1] as const, [named('Bass double'), -1] as const];
  expect(sumDb([[named('without Keys'), 1], ...left])).toBeLessThan(-120);
});

test('of a pair, wet is the return, and dry is the same without its chain, not a sample late', () => {
  expect(named('Bass double wet')).toEqual(named('Bass double'));
  // 6 dB of gain make the wet one out of the dry one.
  expect(
    sumDb([
      [named('Bass double wet'), 1],
      [named('Bass double dry'), -(10 ** (6 / 20))],
    ]),
  ).toBeLessThan(-120);
  // The limiter before the reverb looks ahead: dry is what was sent, where it was sent. -6 dB of send, -9 dB of blend.
  expect(
    sumDb([
      [named('Plate dry'), 1],
      [named('Keys'), -(10 ** (-15 / 20))],
    ]),
  ).toBeLessThan(-120);
  expect(
    sumDb([
      [named('Plate wet'), 1],
      [named('Plate dry'), -1],
    ]),
  ).toBeGreaterThan(-60);
});

test('a section is cut to the sample, with silence around it, markers and one stated zero', async () => {
  const args = ['--section', 'chorus', '--head', '0.5', '--tail', '0.25'];
  const part = await print('section', '--kinds', 'main,returns', ...args);
  const [main] = samplesOf(part.files[0]!);
  const frames = 1.25 * 48_000;
  expect(main!.length).toBe(frames + 0.75 * 48_000);
  expect(main!.subarray(24_000, 24_000 + frames)).toEqual(named('main')[0]!.subarray(48_000, 48_000 + frames));
  const around = [...main!.subarray(0, 24_000), ...main!.subarray(24_000 + frames)];
  expect(around.every((x) => x === 0)).toBe(true);
  expect(part.files[0]!.path).toContain('Small song - Chorus.wav');
  const manifest = JSON.parse(place.readText(part.manifest.slice(place.folder.length + 1))) as object;
  expect(manifest).toMatchObject({ section: 'Chorus', startsAtSeconds: 0.5 });
  const bytes = readFileSync(place.path('section/Small song - Chorus.wav'));
  // EBU Tech 3285 v2: the time reference stands 338 bytes into the chunk, as samples since the zero.
  expect(bytes.readUInt32LE(bytes.indexOf('bext') + 8 + 338)).toBe(48_000);
  expect(part.notes.join()).toContain('the song from 1.000 s to 2.250 s, cut to the sample without fades');
  expect((await run('verify', place.path('section'))).code).toBe(0);
});

test('a pass is printed as it was saved, and is named', async () => {
  const { files, notes } = await print('pass', '--pass', 'first pass');
  expect(files[0]!.path).toContain('Small song - First pass.wav');
  // Its groups were 6 dB lower, and all that they feed with them; the limiter does not act.
  expect(
    sumDb([
      [samplesOf(files[0]!), 1],
      [named('main'), -(10 ** (-6 / 20))],
    ]),
  ).toBeLessThan(-60);
  expect(notes).toContain('The pass "First pass" was printed, not the mix as it stands.');
  const { code, err } = await run('print', session, '--out', place.path('no'), '--pass', 'second');
  expect([code, err]).toEqual([2, '--pass must be "First pass", not "second".\n']);
});

test('several targets are printed in one go, and what one takes beyond gain is said and not done', async () => {
  const targets = ['--targets', 'broadcast,loud=-3/-1,as mixed'];
  const { code, out } = await run('print', session, '--out', place.path('targets'), ...targets, '--json');
  const { files, levels, notes } = JSON.parse(out) as Printed;
  // Exit 1: a target is missed.
  expect([code, levels.map(({ target, met }) => [target, met])]).toEqual([
    1,
    [
      ['broadcast', true],
      ['loud', false],
      ['as mixed', true],
    ],
  ]);
  expect(files.map(({ path, target }) => [path.split('/').at(-1), target])).toEqual([
    ['Small song - broadcast.wav', 'broadcast'],
    ['Small song - loud.wav', 'loud'],
    ['Small song - as mixed.wav', 'as mixed'],
  ]);
  const [broadcast, loud, asMixed] = files as unknown as readonly [
    Printed['files'][0],
    Printed['files'][0],
    Printed['files'][0],
  ];
  // EBU R 128: -23 LUFS.
  expect(broadcast.integratedLufs).toBeCloseTo(-23, 2);
  expect(loud.truePeakDbtp).toBeLessThanOrEqual(-1);
  expect(loud.truePeakDbtp).toBeGreaterThan(-1.01);
  expect(levels[2]!.gainDb).toBe(0);
  expect(loud.integratedLufs - asMixed.integratedLufs).toBeCloseTo(levels[1]!.gainDb, 2);
  const short = (-3 - loud.integratedLufs).toFixed(2);
  expect(notes[1]).toContain(`loud: The level of the mix was`);
  expect(notes[1]).toContain(`a limiter would have to lower peaks by ${short} dB after that; none was added.`);
});

test('stems through the mix bus: what they add up to beside the mix is told', async () => {
  const linear = await print('linear', '--kinds', 'stems', '--stems-through-mix-bus');
  const [, told] = /their sum differs from the mix by (-[\d.]+) dB/.exec(linear.notes.join()) ?? [];
  // A mix bus that does nothing is linear: only rounding to floats is left.
  expect(Number(told)).toBeLessThan(-120);
  const glue = { trimDb: 0, chain: [{ processor: 'saturator', settings: { drive: 12 } }] };
  const bent = writeSession(place, 'bent.json', { ...mix, mixBus: glue });
  const args = ['--kinds', 'main,stems', '--stems-through-mix-bus', '--bits', '32f'];
  const { files, notes } = (await runJson('print', bent, '--out', place.path('bent'), ...args)) as Printed;
  const [main, ...stems] = files.map(samplesOf);
  let [lacking, energy] = [0, 0];
  main!.forEach((channel, c) =>
    channel.forEach((x, i) => {
      lacking += (x - stems.reduce((sum, stem) => sum + stem[c]![i]!, 0)) ** 2;
      energy += x * x;
    }),
  );
  expect(notes.join()).toContain(`differs from the mix by ${(10 * Math.log10(lacking / energy)).toFixed(1)} dB`);
});

test('names follow a template; what cannot tell files apart is refused with one sentence', async () => {
  const template = ['--names', '{title} {pass} - {kind} [{rate}, {bits}] {loudness}'];
  const { files } = await print('names', '--kinds', 'main,returns', ...template);
  const [main] = files;
  const loudness = `${main!.integratedLufs.toFixed(1)} LUFS`;
  expect(main!.path).toBe(place.path(`names/Small song - main [48 kHz, 32 bit float] ${loudness}.wav`));
  for (const [option, value, sentence] of [
    ['--names', '{title}', '--names must be a template with {kind}, so that files differ, not "{title}".'],
    ['--without', 'kees', '--without must be ids of groups, separated by commas: bass, keys, not "kees".'],
    ['--dither', 'shaped', '--dither shaped does not fit: expected 16 bits at 44100 or 48000 Hz'],
    ['--span', '9-12', 'The part "9-12 s" must be one that begins within the '],
    ['--format', 'flac', '--bits does not fit: expected 16 or 24 bits for FLAC, which has no floats, found 32f.'],
  ] as const) {
    const { code, err } = await run('print', session, '--out', place.path('no'), '--bits', '32f', option, value);
    expect([code, err]).toEqual([2, expect.stringContaining(sentence) as unknown]);
  }
  const shut = writeSession(place, 'shut.json', { ...mix, buses: mix.buses.map((bus) => ({ ...bus, on: false })) });
  const { code, err } = await run('print', shut, '--out', place.path('no'), '--pairs', 'double');
  const sentence = 'expected a group or bus that is on and not closed, found a silent one.';
  expect([code, err]).toEqual([2, `"Bass double" does not fit: ${sentence}\n`]);
  expect(place.has('no')).toBe(false);
});

test('FLAC and AIFF are read back as what was printed, and verified', async () => {
  for (const form of ['flac', 'aiff']) {
    const args = ['--format', form, '--bits', '16', '--dither', 'shaped'];
    const { files } = (await runJson('print', session, '--out', place.path('forms'), '--force', ...args)) as Printed;
    expect(files[0]!.bits).toBe(`${form.toUpperCase()} 16`);
    const [measured] = (await runJson('measure', files[0]!.path)) as { integratedLufs: number; truePeakDbtp: number }[];
    expect(measured!.integratedLufs).toBeCloseTo(files[0]!.integratedLufs, 9);
    expect(measured!.truePeakDbtp).toBeCloseTo(files[0]!.truePeakDbtp, 9);
    expect((await run('verify', place.path('forms'))).code).toBe(0);
  }
});
