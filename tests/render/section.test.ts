import { expect, it } from 'vitest';
import { renderDirect } from '../../src/render/direct.ts';
import { partFor, splicedSound } from '../../src/render/section.ts';
import { planned, sessionFrom } from '../helpers/sessions.ts';
import { stereo, whiteNoise } from '../helpers/signals.ts';

const SECONDS = 16;
const SPAN = { from: 11 * 48_000 + 7, to: 12 * 48_000 + 11 };

const song = (chain: readonly { id: string; processor: string; settings: Record<string, number> }[]) =>
  planned(
    sessionFrom({
      tracks: [{ id: 'a', name: 'a', file: 'a.wav', group: 'band' }],
      // What moves along the song stands where it does in the whole.
      lines: [
        {
          id: 'fade',
          target: { of: 'a', what: 'level' },
          points: [
            { at: 0, value: 0, curve: 'linear' },
            { at: SECONDS, value: -12, curve: 'hold' },
          ],
        },
      ],
      groups: [{ id: 'band', name: 'band', sends: [{ to: 'bus' }], chain }],
      buses: [
        {
          id: 'bus',
          name: 'bus',
          blendDb: -6,
          chain: [{ id: 'd', processor: 'delay', settings: { time: 210, feedback: 30 } }],
        },
      ],
    }),
    { a: stereo(whiteNoise(SECONDS, 1), whiteNoise(SECONDS, 2)) },
  );

it('a section that is run alone sounds as it does in the whole song, but for what its processors remember from longer ago', async () => {
  const { plan, sources } = song([
    { id: 'c', processor: 'compressor', settings: { threshold: -30, lookAhead: 5, release: 200 } },
  ]);
  const whole = await renderDirect(plan, sources);
  const part = partFor(plan, plan.strips, SPAN);
  expect(part.from).toBeGreaterThan(0);
  const alone = await renderDirect(plan, sources, { part });
  for (const [id, { channels }] of alone)
    channels.forEach((channel, n) => {
      const expected = whole.get(id)!.channels[n]!.subarray(SPAN.from, SPAN.to);
      const found = channel.subarray(SPAN.from, SPAN.to);
      const off = found.reduce((most, x, i) => Math.max(most, Math.abs(x - expected[i]!)), 0);
      // 4 s are 20 of its releases, and 19 echoes at -10.5 dB each: e^-20 and -200 dB. The rest is single precision.
      expect(off, id).toBeLessThan(1e-6);
      expect(Math.max(...expected.map(Math.abs))).toBeGreaterThan(0.1);
      // Nothing else was run.
      expect(channel.subarray(0, part.from - 40_000).every((x) => x === 0)).toBe(true);
      expect(channel.subarray(SPAN.to + 40_000).every((x) => x === 0)).toBe(true);
    });
});

it('a spliced sound is the one within the section and the other one around it, however it is read', () => {
  const outside = stereo(whiteNoise(1, 3), whiteNoise(1, 4));
  const inside = stereo(whiteNoise(1, 5), whiteNoise(1, 6));
  const span = { from: 9000, to: 20_000 };
  const spliced = splicedSound(outside, inside, span);
  spliced.channels.forEach((channel, n) => {
    const whole = channel.subarray(0, channel.length);
    const fade = 480;
    for (const [from, to, of] of [
      [0, span.from, outside],
      [span.from + fade, span.to - fade, inside],
      [span.to, 48_000, outside],
    ] as const)
      expect(whole.subarray(from, to)).toEqual(of.channels[n]!.subarray(from, to));
    // In the middle of a fade it is half of both.
    const middle = span.from + fade / 2;
    expect(whole[middle]).toBeCloseTo((outside.channels[n]![middle]! + inside.channels[n]![middle]!) / 2, 6);
    const pieces = Array.from({ length: 48 }, (_, piece) => channel.subarray(1000 * piece, 1000 * (piece + 1)));
    expect(pieces.flatMap((piece) => [...piece])).toEqual([...whole]);
  });
});
