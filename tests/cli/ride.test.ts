import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { wholeOf } from '../../src/audio/audio.ts';
import { openSession } from '../../src/index.ts';
import { joined, pinkNoise, stereo } from '../helpers/signals.ts';
import { run, runJson, Workplace } from './command.ts';
import { songSession } from './song.ts';

const RATE = 48_000;
const SECONDS = 24;
const place = new Workplace();

/** Noise that swells from one end to the other by 20 dB and more, and a silence. */
const swelling = (seed: number): Float32Array =>
  joined(...Array.from({ length: 5 }, () => pinkNoise(5.4, seed, 0.1))).map((x, n) => {
    const seconds = n / RATE;
    if (seconds > 12 && seconds < 14) return 0;
    return x * 10 ** ((9 * Math.sin((2 * Math.PI * seconds) / 16)) / 20);
  });

place.writeAudio('keys.wav', stereo(swelling(1), swelling(2)));
const path = place.write(
  'song.json',
  JSON.stringify(
    songSession({
      rough: null,
      tracks: [{ id: 'keys-track', name: 'Keys', file: 'keys.wav', group: 'keys' }],
      groups: [{ id: 'keys', name: 'Keys', faderDb: -4 }],
      buses: [],
      sections: [{ name: 'Middle', startSeconds: 4, endSeconds: 12 }],
    }),
  ),
);

/** A second-order section. */
const filtered = (
  x: Float64Array,
  [b0, b1, b2, a1, a2]: readonly [number, number, number, number, number],
): Float64Array => {
  let [x1, x2, y1, y2] = [0, 0, 0, 0];
  return x.map((now) => {
    const y = b0 * now + b1 * x1 + b2 * x2 - a1 * y1 - a2 * y2;
    [x2, x1, y2, y1] = [x1, now, y1, y];
    return y;
  });
};

/** Short-term loudness every second, by tables 1 and 2 of ITU-R BS.1770-5 (48 kHz) and the 3 s window of EBU Tech 3341; element 0 ends at 3 s. */
const shortTerm = (channels: readonly Float32Array[], gain: number): number[] => {
  const weighted = channels.map((channel) =>
    filtered(
      filtered(
        Float64Array.from(channel, (x) => gain * x),
        [...[1.53512485958697, -2.69169618940638, 1.19839281085285, -1.69065929318241, 0.73248077421585]] as [
          number,
          number,
          number,
          number,
          number,
        ],
      ),
      [1, -2, 1, -1.99004745483398, 0.99007225036621],
    ),
  );
  const seconds = Array.from({ length: SECONDS }, (_, n) =>
    weighted.reduce((sum, channel) => {
      const second = channel.subarray(n * RATE, (n + 1) * RATE);
      return sum + second.reduce((energy, x) => energy + x * x, 0) / RATE;
    }, 0),
  );
  return seconds.slice(2).map((power, n) => -0.691 + 10 * Math.log10((seconds[n]! + seconds[n + 1]! + power) / 3));
};

const heard = async (session: string): Promise<number[]> => {
  const { plan, paths } = await (await openSession(session)).rendered();
  return shortTerm(wholeOf(paths.get('keys')!).channels, plan.paths[0]!.gain);
};

const loudnessOf = async (session: string): Promise<{ lowestLufs: number; highestLufs: number }> => {
  const all = (await heard(session)).filter(Number.isFinite);
  return { lowestLufs: Math.min(...all), highestLufs: Math.max(...all) };
};

interface Answer {
  readonly line: { readonly target: unknown; readonly points: readonly { at: number; value: number }[] };
  readonly before: { readonly withinShare: number };
  readonly after: { readonly lowestLufs: number; readonly highestLufs: number; readonly withinShare: number };
}

test('a ride holds the short-term loudness of a path within a range, as another meter reads it, no faster than asked', async () => {
  const out = place.path('ridden.json');
  const before = await heard(path);
  const middle = before.toSorted((a, b) => a - b)[11]!;
  const [low, high] = [Math.round(middle) - 1.5, Math.round(middle) + 1.5];
  const asked = ['--path', 'keys', '--low', `${low}`, '--high', `${high}`, '--rate', '6', '--out', out];
  const { line, before: was, after } = (await runJson('ride', path, ...asked)) as Answer;
  expect(Math.max(...before) - Math.min(...before)).toBeGreaterThan(10);
  expect(was.withinShare).toBeLessThan(0.5);
  expect(after.withinShare).toBe(1);
  expect(line.target).toEqual({ of: 'keys', what: 'level' });
  const ridden = await heard(out);
  // The tables give ten digits of a response that the meter works out anew: they agree to 0.01 LU. Windows that are silent for
  // more than half (those that end at 14 s and at 15 s) ask for nothing: the sound around the gap would be brought up for them.
  ridden.forEach((lufs, n) => {
    expect(lufs, `${n + 3} s`).toBeLessThan(high + 0.01);
    if (n + 3 !== 14 && n + 3 !== 15) expect(lufs, `${n + 3} s`).toBeGreaterThan(low - 0.01);
  });
  line.points.slice(1).forEach(({ at, value }, n) => {
    const { at: since, value: from } = line.points[n]!;
    // Values are rounded to 0.01 dB.
    expect(Math.abs(value - from)).toBeLessThan(6 * (at - since) + 0.011);
  });
});

test('sound that begins after a long silence is not brought up for the silence before it, and no ride leaves less in range', async () => {
  // 5 s of silence, then noise that is already in range.
  const late = (seed: number): Float32Array =>
    joined(...Array.from({ length: 3 }, () => pinkNoise(5.4, seed, 0.1))).map((x, n) => (n < 5 * RATE ? 0 : x));
  place.writeAudio('late.wav', stereo(late(3), late(4)));
  const session = {
    ...(JSON.parse(readFileSync(path, 'utf8')) as object),
    tracks: [{ id: 'late-track', name: 'Late', file: 'late.wav', group: 'keys' }],
    sections: [],
  };
  const late12 = place.write('late.json', JSON.stringify(session));
  const { lowestLufs, highestLufs } = await loudnessOf(late12);
  const [low, high] = [(highestLufs - 1.5).toFixed(1), (highestLufs + 1.5).toFixed(1)];
  const out = place.path('late-ridden.json');
  const { line, after } = (await runJson(
    ...['ride', late12, '--path', 'keys', '--low', low, '--high', high, '--out', out],
  )) as Answer;
  expect(after.withinShare).toBeGreaterThanOrEqual(0.95);
  // A window that is half silent is 3 dB softer: little more than that is made up for, where the fader has to come from it.
  const most = line.points.reduce((most, { value }) => Math.max(most, value), -Infinity);
  expect(most).toBeLessThan(-4 + 3.5);
  expect(lowestLufs).toBeLessThan(highestLufs);
});

test('a section is ridden alone, and begins and ends where the fader stands; what cannot be ridden is said', async () => {
  const out = place.path('middle.json');
  await runJson('ride', path, '--path', 'keys', '--low', '-30', '--high', '-28', '--section', 'Middle', '--out', out);
  const { lines } = JSON.parse(readFileSync(out, 'utf8')) as { lines: Answer['line'][] };
  const outside = lines[0]!.points.filter(({ at }) => at <= 4 || at >= 11.99);
  expect(outside.map(({ value }) => value)).toEqual([-4, -4, -4, -4]);
  const none = await run('ride', path, '--path', 'nobody', '--low', '-30', '--high', '-28');
  expect([none.code, none.err]).toEqual([2, '--path must be the id of a group or bus: keys, not "nobody".\n']);
  const crossed = await run('ride', path, '--path', 'keys', '--low', '-20', '--high', '-28');
  expect(crossed.err).toBe('--low must be less than --high, -28 LUFS, not -20 LUFS.\n');
});
