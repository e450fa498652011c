import { mkdirSync } from 'node:fs';
import { expect, test } from 'vitest';
import type { GuardResult } from '../../src/blend/guards/guards.ts';
import type { Figures } from '../../src/measure/figures.ts';
import { main } from '../../src/cli/main.ts';
import { sampleOf } from '../helpers/soak.ts';
import { run, runJson, Workplace } from './command.ts';
import { songSession, writeSession, writeSounds } from './song.ts';

const place = new Workplace();
writeSounds(place);

const sections = [{ name: 'Late', startSeconds: 0.7, endSeconds: 2.5 }];
const buses = [
  { id: 'double', name: 'Bass double', blendDb: -12, chain: [{ processor: 'gain' }] },
  { id: 'air', name: 'Air', blendDb: -15, chain: [{ processor: 'gain' }] },
];
const groups = [
  { id: 'bass', name: 'Bass', sends: [{ to: 'double' }] },
  { id: 'keys', name: 'Keys', sends: [{ to: 'air' }] },
];
const song = writeSession(place, 'blends.json', { sections, buses, groups });

/** What the main mix of a session prints and measures as. */
const printed = async (session: string): Promise<Figures> => {
  const { files } = (await runJson(
    'print',
    session,
    '--out',
    place.path('prints'),
    '--force',
    '--allow-outside',
    '--bits',
    '32f',
  )) as {
    files: readonly Figures[];
  };
  return files[0]!;
};

interface SweepAnswer {
  readonly bus: string;
  readonly stage: string;
  readonly rows: readonly (Figures & {
    readonly blendDb: number;
    readonly change: Figures;
    readonly matchGainDb: number;
    readonly guards: readonly GuardResult[];
  })[];
  readonly marks: { readonly audible: { readonly blendDb: number | null } } | null;
  readonly notes: readonly string[];
}

test('a row of a sweep is what a print of that blend measures, with all that the contract names', async () => {
  const answer = (await runJson(
    'sweep',
    song,
    '--bus',
    'double',
    '--from',
    '-12',
    '--to=0',
    '--step',
    '6',
  )) as SweepAnswer;
  expect([answer.bus, answer.stage]).toEqual(['double', 'before the mix bus']);
  expect(answer.rows.map(({ blendDb }) => blendDb)).toEqual([-12, -6, 0]);
  for (const row of answer.rows) {
    const led = buses.map((bus) => (bus.id === 'double' ? { ...bus, blendDb: row.blendDb } : bus));
    const print = await printed(writeSession(place, 'led.json', { groups, buses: led }));
    expect(row.integratedLufs).toBeCloseTo(print.integratedLufs!, 4);
    expect(row.truePeakDbtp).toBeCloseTo(print.truePeakDbtp!, 4);
    expect(row.stereo.sideToMidDb).toBeCloseTo(print.stereo.sideToMidDb!, 4);
    expect(row.bands[10]!.levelDb).toBeCloseTo(print.bands[10]!.levelDb!, 3);
  }
  expect(answer.rows[0]!.matchGainDb).toBeCloseTo(0, 9);
  expect(answer.rows[0]!.change.crestDb).toBeCloseTo(0, 9);
});

test('the readable sweep names figures by their labels, and all blends to the same digits', async () => {
  const { out } = await run('sweep', song, '--bus', 'double', '--from', '-30', '--to', '6', '--step', '3');
  expect(out).toMatch(/^(Integrated loudness|Crest|Width \(side to mid\)) has its knee at -?\d+\.\d\d dB\.$/m);
  expect(out).not.toMatch(/^[a-z]+[A-Z]/m);
  const blends = out.match(/-?\d+\.\d+ dB/g)!;
  expect(blends.filter((text) => !/\.\d\d dB$/.test(text))).toEqual([]);
});

test('a bus that sends on from behind its blend is rendered at every row', async () => {
  const chained = [{ ...buses[0]!, sends: [{ to: 'air' }] }, buses[1]!];
  const session = writeSession(place, 'chained.json', { groups, buses: chained });
  const { rows, marks, notes } = (await runJson(
    'sweep',
    session,
    '--bus',
    'double',
    '--from',
    '-6',
    '--to',
    '-6',
  )) as SweepAnswer;
  const led = [{ ...chained[0]!, blendDb: -6 }, chained[1]!];
  const print = await printed(writeSession(place, 'chained-led.json', { groups, buses: led }));
  expect(rows[0]!.integratedLufs).toBeCloseTo(print.integratedLufs!, 4);
  expect(marks).toBeNull();
  expect(notes.join()).toContain('every row was rendered');
});

test('a section is swept alone', async () => {
  const only = ['--bus', 'double', '--from', '-12', '--to', '-12'];
  const whole = (await runJson('sweep', song, ...only)) as SweepAnswer;
  const part = (await runJson('sweep', song, ...only, '--section', 'late')) as SweepAnswer;
  expect(part.rows[0]!.rmsDbfs).not.toBe(whole.rows[0]!.rmsDbfs);
});

test('all down and up again ends where the session stands', async () => {
  const { order, steps } = (await runJson('sweep', song, '--bring-up', 'all', '--down', '60')) as {
    order: readonly string[];
    steps: readonly (Figures & { readonly bus: string | null })[];
  };
  expect(order).toEqual(['double', 'air']);
  expect(steps.map(({ bus }) => bus)).toEqual([null, 'double', 'air']);
  expect(steps.at(-1)!.integratedLufs).toBeCloseTo((await printed(song)).integratedLufs!, 4);
});

interface SolveAnswer {
  readonly blends: Readonly<Record<string, number>>;
  readonly before: Figures;
  readonly after: Figures;
  readonly met: boolean;
  readonly guards: readonly GuardResult[];
  readonly stage: string;
  readonly sentences: readonly string[];
}

const free = {
  guards: ['tonal shift', 'balance drift', 'width change', 'minimum PLR'].map((guard) => {
    return { guard, limit: 0, on: false };
  }),
};

test('blends that are found, written as a session elsewhere and printed, measure as asked', async () => {
  const session = writeSession(place, 'free.json', { groups, buses, ...free });
  const { integratedLufs, stereo } = await printed(session);
  mkdirSync(place.path('found'));
  const out = place.path('found/solved.json');
  const asked = [
    `integratedLufs=${(integratedLufs! + 1).toFixed(2)}`,
    `sideToMidDb=${(stereo.sideToMidDb! + 0.3).toFixed(2)}`,
  ];
  const answer = (await runJson('solve', session, '--within', '24', '--target', ...asked, '--out', out)) as SolveAnswer;
  expect([answer.met, answer.stage]).toEqual([true, 'printed']);
  expect(Object.keys(answer.blends)).toEqual(['double', 'air']);
  const print = await printed(out);
  expect(Math.abs(print.integratedLufs! - integratedLufs! - 1)).toBeLessThan(0.05);
  expect(Math.abs(print.stereo.sideToMidDb! - stereo.sideToMidDb! - 0.3)).toBeLessThan(0.05);
  expect(print.integratedLufs).toBeCloseTo(answer.after.integratedLufs!, 3);
});

test('targets and limits may stand in a file', async () => {
  const session = writeSession(place, 'free.json', { groups, buses, ...free });
  const file = place.write(
    'targets.json',
    JSON.stringify({ targets: { integratedLufs: 'max' }, limits: { double: [-12, -9], air: [-15, -15] } }),
  );
  const { blends, sentences } = (await runJson('solve', session, '--target', file)) as SolveAnswer;
  expect(blends.double).toBeCloseTo(-9, 1);
  expect(blends.air).toBe(-15);
  expect(sentences[0]).toContain('highest blend allowed for Bass double (-9.0 dB)');
});

test('check exits 1 when a guard is broken and 0 when all are kept, with the same answer either way', async () => {
  const kept = writeSession(place, 'kept.json', { groups, buses, ...free });
  const answer = (await runJson('check', kept)) as { guards: readonly GuardResult[]; pass: boolean };
  expect(answer.pass).toBe(true);
  expect(answer.guards).toHaveLength(4);
  const ceiling = [...free.guards, { guard: 'true-peak ceiling', limit: -40 }];
  const broken = await run('check', writeSession(place, 'broken.json', { groups, buses, guards: ceiling }), '--json');
  expect([broken.code, broken.err]).toEqual([1, '']);
  const { guards, pass } = JSON.parse(broken.out) as { guards: readonly GuardResult[]; pass: boolean };
  expect(pass).toBe(false);
  const failed = guards.filter((guard) => !guard.pass);
  expect(failed.map(({ name, limit }) => [name, limit])).toEqual([['true-peak ceiling', -40]]);
  expect(failed[0]!.value).toBeCloseTo((await printed(kept)).truePeakDbtp!, 3);
  const { code, out } = await run('check', place.path('broken.json'));
  expect(code).toBe(1);
  expect(out).toMatch(/^true-peak ceiling .*BROKEN +printed$/m);
});

test('the ceiling is checked on the print: the trim before the mix bus counts', async () => {
  const ceiling = async (trimDb: number): Promise<number> => {
    const session = writeSession(place, 'trim.json', { groups, buses, mixBus: { trimDb, chain: [] } });
    const { out } = await run('check', session, '--json');
    return (JSON.parse(out) as { guards: readonly GuardResult[] }).guards[0]!.value!;
  };
  expect((await ceiling(-5)) - (await ceiling(0))).toBeCloseTo(-5, 3);
});

test.each([
  [['sweep', song], '--bus does not fit: expected either --bus or --bring-up, found neither.'],
  [['sweep', song, '--bus', 'none'], '--bus must be "double" or "air", not "none".'],
  [
    ['sweep', song, '--bus', 'air', '--from', '0', '--to', '-6'],
    '--from must be a blend at or below that of --to, not 0.',
  ],
  [['sweep', song, '--bus', 'air', '--section', 'Bridge'], '--section must be "Late", not "Bridge".'],
  [
    ['sweep', song, '--bus', 'air', '--second', 'air'],
    '--second does not fit: expected another bus than --bus, found "air".',
  ],
  [
    ['solve', song, '--target', 'crestDb=max', '--limit', 'bass=-6..0'],
    '--limit must be "double" or "air", not "bass".',
  ],
  [
    ['solve', song, '--target', 'crestDb=max', '--limit', 'air=0..-6'],
    '--limit air must be a range within -90..24 dB, not 0..-6.',
  ],
  [
    ['solve', song, '--target', 'integratedLufs=-9..-12'],
    '--target integratedLufs must be a range from the lesser to the greater value, not -9..-12.',
  ],
  [['check', song, '--guards', 'harsh'], '--guards must be "default", "gentle" or "loud master", not "harsh".'],
])('%s says what is wrong in one sentence', async (args, sentence) => {
  expect(await run(...args)).toEqual({ code: 2, out: '', err: `${sentence}\n` });
});

test('what cannot be meant is refused before a sound file is read: here there is none to read', async () => {
  const tracks = groups.map(({ id, name }) => ({ id: `${id}-track`, name, file: `${id}-missing.wav`, group: id }));
  const silent = writeSession(place, 'no-sounds.json', { sections, buses, groups, tracks });
  const solve = ['solve', silent, '--target', 'crestDb=max'];
  const lines: readonly (readonly [readonly string[], RegExp])[] = [
    [['ledger', silent], /bass-missing\.wav/],
    [['ledger', silent, '--section', 'Bridge'], /^--section /],
    [['ledger', silent, '--path', 'nope'], /^--path /],
    [['check', silent, '--section', 'Bridge'], /^--section /],
    [['sweep', silent, '--bus', 'nope'], /^--bus /],
    [['sweep', silent, '--bus', 'air', '--second', 'nope'], /^--second /],
    [['sweep', silent, '--bus', 'air', '--second', 'double', '--second-from', '6'], /^--second-from .* --second-to/],
    [['sweep', silent, '--bus', 'air', '--from', '-90', '--step', '0.05'], /^--step /],
    [['sweep', silent, '--bring-up', 'air,nope'], /^--bring-up /],
    [[...solve, '--limit', 'nope=-6..0'], /^--limit /],
    [[...solve, '--out', place.path('bass.wav/solved.json')], /cannot be written/],
    [[...solve, '--out', silent], /cannot be written/],
    [['print', silent, '--out', place.path('bass.wav')], /cannot be written/],
    [['print', silent, '--out', place.path('new'), '--kinds', 'voices'], /"vocal": true/],
    [['chain', place.path('none.wav'), '--preset', 'air lift', '--out', place.path('bass.wav/x.wav')], /be written/],
    [['measure', place.path('none.wav'), '--series', place.path('bass.wav/x.csv')], /be written/],
  ];
  for (const [args, sentence] of lines) {
    const { code, out, err } = await run(...args);
    expect([code, out], args.join(' ')).toEqual([2, '']);
    expect(err).toMatch(sentence);
  }
});

test('where somebody watches, standard error tells what is being done, and the answer stays as it is', async () => {
  const lines: readonly (readonly [readonly string[], string])[] = [
    [['ledger', song], 'Measuring ... '],
    [['sweep', song, '--bus', 'air', '--step', '15'], 'Sweeping ... '],
    [['solve', song, '--target', 'integratedLufs=-60..0'], 'Searching blends ...'],
    [['check', song], 'Measuring ... '],
    [['print', song, '--force', '--out', place.path('watched')], 'Printing ...'],
  ];
  for (const [args, last] of sampleOf(lines, 2)) {
    let err = '';
    let out = '';
    const streams = { out: (text: string) => (out += text), err: (text: string) => (err += text), watched: true };
    await main(args, streams);
    for (const told of ['Reading bass.wav ... ', 'Rendering ... ', last]) expect(err, args[0]).toContain(told);
    expect(err.endsWith('\r\u001b[K'), 'the line is wiped').toBe(true);
    expect(out).toBe((await run(...args)).out);
  }
});

test('a session without a bus has nothing to sweep or to solve', async () => {
  const bare = place.write(
    'bare.json',
    JSON.stringify({ ...songSession(), buses: [], groups: groups.map(({ id, name }) => ({ id, name })) }),
  );
  expect((await run('sweep', bare, '--bus', 'x')).err).toContain('the session has none');
  expect((await run('solve', bare, '--target', 'crestDb=max')).err).toContain('at least one bus that is on');
});
