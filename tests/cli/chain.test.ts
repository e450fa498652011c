import { expect, test } from 'vitest';
import { presets } from '../../src/session/presets/presets.ts';
import type { Figures } from '../../src/measure/figures.ts';
import { processors } from '../../src/dsp/core/registry.ts';
import type { MeasuredFile } from '../../src/cli/measure-file.ts';
import { mono, pinkNoise, scaled, sine, stereo } from '../helpers/signals.ts';
import { sampleOf } from '../helpers/soak.ts';
import { run, runJson, Workplace } from './command.ts';

interface ChainAnswer {
  readonly blendDb: number | null;
  readonly note?: string;
  readonly before: Figures;
  readonly after: Figures;
  readonly change: Figures;
  readonly latencySamples: number;
  readonly tailSeconds: number;
  readonly stages: readonly { readonly processor: string; readonly change: Figures }[];
  readonly out: string | null;
  readonly fitted: {
    readonly processors: readonly { readonly reachedDb: number; readonly settings: Record<string, number> }[];
    readonly chain: unknown;
  } | null;
}

const place = new Workplace();
const noise = place.writeAudio('noise.wav', stereo(pinkNoise(2.7, 1), pinkNoise(2.7, 2)));
const voice = place.writeAudio('voice.wav', mono(pinkNoise(2.7, 3)));

const chainFile = (name: string, ...items: readonly object[]): string => place.write(name, JSON.stringify(items));
const halved = chainFile('half.json', { processor: 'gain', settings: { gain: -6 } });

const chain = async (...args: readonly string[]): Promise<ChainAnswer> =>
  (await runJson('chain', ...args)) as ChainAnswer;

test('in series a gain of -6 dB takes every level down by 6 dB and nothing else', async () => {
  const { before, after, change, stages, latencySamples, tailSeconds, blendDb, out } = await chain(
    noise,
    '--chain',
    halved,
  );
  const [measured] = (await runJson('measure', noise)) as MeasuredFile[];
  expect(before.integratedLufs).toBe(measured!.integratedLufs);
  for (const key of ['integratedLufs', 'maxMomentaryLufs', 'truePeakDbtp', 'samplePeakDbfs', 'rmsDbfs'] as const) {
    expect(change[key]).toBeCloseTo(-6, 4);
    expect(after[key]! - before[key]!).toBe(change[key]);
  }
  for (const key of ['loudnessRangeLu', 'crestDb', 'plrDb'] as const) expect(change[key]).toBeCloseTo(0, 4);
  expect(stages.map(({ processor }) => processor)).toEqual(['gain']);
  expect(stages[0]!.change.integratedLufs).toBeCloseTo(-6, 4);
  expect([latencySamples, tailSeconds, blendDb, out]).toEqual([0, 0, null, null]);
});

test('every processor at its neutral settings, all in one chain with look-ahead, doubles the dry exactly at 0 dB', async () => {
  const neutral = [...processors.keys()].map((processor) => ({
    processor,
    settings: processor === 'compressor' ? { lookAhead: 7.3 } : {},
  }));
  const file = chainFile('neutral.json', ...neutral);
  const { change, latencySamples } = await chain(
    noise,
    '--chain',
    file,
    '--blend',
    '0',
    '--out',
    place.path('two.wav'),
    '--bits',
    '32f',
  );
  expect(latencySamples).toBeGreaterThan(300);
  expect(change.rmsDbfs).toBeCloseTo(6.0206, 4);
  const source = place.readAudio('noise.wav').channels;
  let residual = 0;
  place.readAudio('two.wav').channels.forEach((channel, n) => {
    channel.forEach((x, i) => (residual = Math.max(residual, Math.abs(x - 2 * (source[n]![i] ?? 0)))));
  });
  expect(residual).toBeLessThan(1e-6);
});

test.each([
  ['a space', ['--blend', '-12']],
  ['an equals sign', ['--blend=-12']],
])('a negative blend is read after %s', async (_, blend) => {
  const { blendDb, change } = await chain(noise, '--chain', halved, ...blend);
  expect(blendDb).toBe(-12);
  // The copy is 6 + 12 = 18 dB down and in phase: 20 log10(1 + 10^(-18/20)).
  expect(change.rmsDbfs).toBeCloseTo(20 * Math.log10(1 + 10 ** (-18 / 20)), 4);
});

test('a blend of -90 dB is shut: the dry comes out untouched', async () => {
  await run('chain', noise, '--chain', halved, '--blend', '-90', '--out', place.path('shut.wav'), '--bits', '32f');
  const [shut, dry] = ['shut.wav', 'noise.wav'].map((name) => place.readAudio(name).channels);
  shut!.forEach((channel, n) => expect(channel.every((x, i) => x === dry![n]![i])).toBe(true));
});

test.each([
  ['16', 2],
  ['24', 3],
  ['32f', 4],
])('what is written is what is reported, at %s bit', async (bits, bytes) => {
  const { after } = await chain(noise, '--chain', halved, '--out', place.path('out.wav'), '--bits', bits);
  const [measured] = (await runJson('measure', place.path('out.wav'))) as MeasuredFile[];
  expect(measured).toMatchObject({ ...after, sampleRate: 48_000, channels: 2 });
  const frames = place.readAudio('noise.wav').channels[0]!.length;
  expect(place.readAudio('out.wav').channels[0]).toHaveLength(frames);
  expect(Math.floor(place.size('out.wav') / (2 * frames))).toBe(bytes);
});

test('one channel stays one while left and right are the same, and becomes two where they are not', async () => {
  const plain = await chain(voice, '--chain', halved, '--out', place.path('plain.wav'));
  expect(place.readAudio('plain.wav').channels).toHaveLength(1);
  expect(plain.change.integratedLufs).toBeCloseTo(-6, 3);
  const wide = chainFile('wide.json', { processor: 'delay', settings: { time: 13, offset: 8, mix: 100 } });
  await chain(voice, '--chain', wide, '--out', place.path('wide.wav'));
  expect(place.readAudio('wide.wav').channels).toHaveLength(2);
});

test('one channel that comes out as two is measured before as both sides play it, stage by stage too', async () => {
  const spread = chainFile('spread.json', {
    processor: 'widener',
    settings: { decorrelation: 50, keepLoudness: true },
  });
  const wide = await chain(voice, '--chain', spread);
  expect(Math.abs(wide.change.integratedLufs!)).toBeLessThan(0.3);
  expect(Math.abs(wide.stages[0]!.change.integratedLufs!)).toBeLessThan(0.3);
  expect(wide.note).toContain('both loudspeakers play');
  const [alone] = (await runJson('measure', voice)) as MeasuredFile[];
  expect(wide.before.integratedLufs! - alone!.integratedLufs!).toBeCloseTo(3.01, 2);
  expect((await run('chain', voice, '--chain', spread)).out).toContain('One channel in, two out');

  const plain = await chain(voice, '--chain', halved);
  expect(plain.before.integratedLufs).toBe(alone!.integratedLufs);
  expect(plain.note).toBeUndefined();
});

test('a tail is kept until it is silent, and told', async () => {
  const echo = chainFile('echo.json', { processor: 'delay', settings: { time: '1/4', feedback: 50, mix: 100 } });
  const tone = place.writeAudio('tone.wav', mono(sine({ hz: 440, seconds: 1, db: -6 })));
  const { tailSeconds } = await chain(tone, '--chain', echo, '--tempo', '120', '--out', place.path('echo.wav'));
  // Feedback 0.5 every 500 ms from -6 dBFS: 19 repeats until below -120 dBFS, so 9.5 s and the last repeat's own second.
  expect(tailSeconds).toBeGreaterThan(8.9);
  expect(tailSeconds).toBeLessThan(10.6);
  expect((await run('chain', tone, '--chain', echo)).out).toMatch(/\d+\.\d\d s longer by its tail/);
});

test('a note value follows --tempo', async () => {
  const click = new Float32Array(48_000);
  click[0] = 0.5;
  const file = place.writeAudio('click.wav', mono(click));
  const repeat = chainFile('repeat.json', { processor: 'delay', settings: { time: '1/8', feedback: 0, mix: 100 } });
  await chain(file, '--chain', repeat, '--tempo', '150', '--out', place.path('repeat.wav'), '--bits', '32f');
  const [out] = place.readAudio('repeat.wav').channels;
  expect(out!.findIndex((x) => Math.abs(x) > 0.1)).toBe(9_600); // 1/8 at 150 is 200 ms
});

test('presets run by their names, and a preset file is a chain file too', async () => {
  const short = place.writeAudio('short.wav', stereo(pinkNoise(0.5, 4), pinkNoise(0.5, 5)));
  for (const { name, chain: items } of sampleOf(presets, 4)) {
    // What listens to a key says on standard error that a file alone has none.
    const { code, out } = await run(
      ...['chain', short, '--preset', name.toUpperCase(), '--blend', '-6', '--as-written', '--json'],
    );
    expect(code, name).toBe(0);
    const { stages, after, fitted } = JSON.parse(out) as ChainAnswer;
    expect(stages, name).toHaveLength(items.length);
    expect(fitted, name).toBeNull();
    expect(after.samplePeakDbfs, name).toBeLessThan(12);
  }
  const { stages } = await chain(short, '--chain', 'presets/drum-squeeze.json');
  expect(stages.map(({ processor }) => processor)).toContain('compressor');
});

test('a preset is fitted to the sound, and what was set is told; as written it is left alone', async () => {
  const soft = place.writeAudio('soft.wav', stereo(scaled(pinkNoise(2.7, 1), 0.02), scaled(pinkNoise(2.7, 2), 0.02)));
  const loud = await chain(noise, '--preset', 'guitar push');
  const fitted = await chain(soft, '--preset', 'guitar push');
  const down = 20 * Math.log10(0.02);
  const [set, before] = [fitted, loud].map((answer) => answer.fitted!.processors[0]!);
  expect(set!.reachedDb - before!.reachedDb).toBeCloseTo(down, 2);
  expect(set!.settings.threshold! - before!.settings.threshold!).toBeCloseTo(down, 0);
  for (const answer of [loud, fitted]) expect(Math.abs(answer.change.integratedLufs!)).toBeLessThan(0.1);
  expect(fitted.change.crestDb).toBeCloseTo(loud.change.crestDb!, 1);
  const again = await chain(soft, '--chain', place.write('fitted.json', JSON.stringify(fitted.fitted!.chain)));
  expect(again.change).toEqual(fitted.change);
  const { out } = await run('chain', soft, '--preset', 'guitar push');
  expect(out).toContain('Fitted to the sound\n  Compressor: threshold ');
});

test('what listens to a key says that there is none', async () => {
  const ducked = await run('chain', noise, '--preset', 'key ducking', '--json');
  expect(ducked.err).toContain('No key input is connected: Compressor is set to an external side-chain');
  expect((JSON.parse(ducked.out) as { flags: { code: string }[] }).flags.map(({ code }) => code)).toEqual(['no key']);
  expect((await run('chain', noise, '--preset', 'bus glue')).err).not.toContain('key');
});

test('samples that clip are told on standard error, and kept by 32 bit float', async () => {
  const loud = chainFile('loud.json', { processor: 'gain', settings: { gain: 24 } });
  const clipped = await run('chain', noise, '--chain', loud, '--out', place.path('loud.wav'), '--json');
  expect(clipped.code).toBe(0);
  expect(clipped.err).toMatch(
    /^\d+ samples of .*loud\.wav exceeded full scale and were clipped; --bits 32f keeps them\.\n$/,
  );
  const kept = await run('chain', noise, '--chain', loud, '--out', place.path('loud.wav'), '--bits', '32f', '--json');
  expect(kept.err).toBe('');
  // What is reported is what was written: clipping takes peaks away.
  const [cut, whole] = [clipped, kept].map(({ out }) => JSON.parse(out) as { change: { crestDb: number } });
  expect(whole!.change.crestDb).toBeCloseTo(0, 3);
  expect(cut!.change.crestDb).toBeLessThan(-3);
});

test('the readable answer shows before, after and change, and each stage', async () => {
  const { out, err } = await run('chain', noise, '--preset', 'drum squeeze', '--blend', '-8');
  expect(err).toBe('');
  expect(out).toContain(`${noise}, in parallel at -8 dB; latency of 99 samples removed`);
  expect(out).toMatch(/^ +before +after +change$/m);
  expect(out).toMatch(/^Integrated loudness +-\d+\.\d +-\d+\.\d +\+\d+\.\d {2}LUFS$/m);
  expect(out).toMatch(/^1 Compressor +/m);
});

test('--match sets a constant make-up, says which, and the loudness stays', async () => {
  const file = chainFile('press.json', { processor: 'compressor', settings: { threshold: -40, ratio: 8 } });
  const answer = (await runJson('chain', noise, '--chain', file, '--match')) as ChainAnswer & { makeUpDb: number[] };
  expect(answer.makeUpDb[0]).toBeGreaterThan(5);
  expect(Math.abs(answer.change.integratedLufs!)).toBeLessThan(0.02);
  expect(await chain(noise, '--chain', file)).not.toHaveProperty('makeUpDb');
  const { out } = await run('chain', noise, '--chain', file, '--match');
  expect(out).toContain(`Make-up set: 1 Compressor ${answer.makeUpDb[0]!.toFixed(2)} dB`);
});
