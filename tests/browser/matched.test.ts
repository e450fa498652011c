import { afterEach, describe, expect, it } from 'vitest';
import type { Audition } from '../../src/audition/audition.ts';
import type { Audio } from '../../src/dsp/audio.ts';
import { writeWav } from '../../src/files/wav-write.ts';
import { loudnessOf } from '../../src/measure/loudness.ts';
import { weightedEnergyOf } from '../../src/measure/weighted-energy.ts';
import { setBlend, setTrim } from '../../src/session/edits.ts';
import { savePass } from '../../src/session/passes.ts';
import type { Session } from '../../src/session/schema.ts';
import { BenchEngine } from '../../src/ui/engine/bench-engine.ts';
import type { Heard } from '../../src/ui/engine/engine.ts';
import { sessionFrom } from '../helpers/sessions.ts';
import { pinkNoise, scaled, sine, stereo } from '../helpers/signals.ts';
import { played } from './played.ts';
import { recorderOf } from './recorder.ts';

const RATE = 48_000;
const SECONDS = 8;
const LOOP = { startSeconds: 2, endSeconds: 4 };

/** Noise in bursts, so that levels over a section differ from those of the song. */
const bursts = (seed: number, period: number): Float32Array =>
  pinkNoise(SECONDS, seed, 0.1).map(
    (x, n) => x * (0.25 + 0.75 * Math.exp(-((n / RATE) % period) * 6)) * (n < 5 * RATE ? 1 : 0.3),
  );

const sounds = (): Record<string, Audio> => {
  const drums = bursts(1, 0.5);
  const bass = sine({ hz: 110, seconds: SECONDS, db: -18 });
  return {
    'drums.wav': stereo(drums, bursts(2, 0.5)),
    'bass.wav': { sampleRate: RATE, channels: [bass] },
    // One channel, which both loudspeakers play.
    'rough.wav': {
      sampleRate: RATE,
      channels: [
        scaled(
          drums.map((x, n) => x + (bass[n] ?? 0)),
          0.4,
        ),
      ],
    },
  };
};

const session = (): Session => {
  const mix = sessionFrom({
    rough: { file: 'rough.wav' },
    tracks: [
      { id: 'kit', name: 'Kit', file: 'drums.wav', group: 'drums' },
      { id: 'low', name: 'Low', file: 'bass.wav', group: 'bass' },
    ],
    groups: [
      { id: 'drums', name: 'Drums', sends: [{ to: 'squeeze' }] },
      { id: 'bass', name: 'Bass', sends: [{ to: 'squeeze', levelDb: -6 }] },
    ],
    buses: [
      {
        id: 'squeeze',
        name: 'Squeeze',
        blendDb: -6,
        chain: [{ id: 'c', processor: 'compressor', settings: { threshold: -30, ratio: 6, makeUp: 8 } }],
      },
    ],
    mixBus: {
      chain: [{ id: 'c', processor: 'compressor', settings: { threshold: -20, ratio: 3, attack: 10, release: 80 } }],
    },
  });
  return setBlend(savePass(setTrim(mix, -4), 'Gentle'), 'squeeze', 2);
};

let engine: BenchEngine | null = null;
afterEach(() => {
  engine?.dispose();
  engine = null;
});

const until = async (true_: () => boolean, what: string): Promise<void> => {
  for (let n = 0; !true_(); n++) {
    if (n > 1500) throw new Error(`${what} has not come about`);
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
};

const opened = async (): Promise<BenchEngine> => {
  engine = new BenchEngine();
  const files = Object.entries(sounds()).map(
    ([path, audio]) => [path, new Blob([writeWav(audio, '32f').bytes])] as const,
  );
  await engine.open(session(), new Map(files));
  return engine;
};

const auditionOf = (bench: BenchEngine): Audition =>
  (bench as unknown as { player: { audition: Audition } }).player.audition;

const lufs = (channels: readonly Float32Array[]): number =>
  loudnessOf(weightedEnergyOf({ sampleRate: RATE, channels })).integrated!;

const SIDES: readonly Heard[] = ['rough', 'received', 'mix', 'without:drums', 'without:squeeze', 'pass:gentle'];

describe('matched listening, recorded in the browser', () => {
  it('brings every side over the section in loop to one loudness, within 0.05 LU', async () => {
    const bench = await opened();
    await until(() => bench.view.matchedLufs !== null, 'matching');
    bench.loop(LOOP);
    bench.compare(SIDES);
    const settled = (): boolean =>
      bench.view.matchedLufs !== null &&
      bench.view.comparison.unsettled.size === 0 &&
      SIDES.every((side) => bench.view.audible.includes(side));
    await until(settled, 'a level for every side');
    const { levels } = bench.view.comparison;
    expect(bench.view.matchedLufs).toBe(Math.min(...SIDES.map((side) => levels.get(side)!)));

    bench.seek(LOOP.startSeconds);
    await bench.play();
    const audition = auditionOf(bench);
    const recorder = await recorderOf(audition);
    const started = recorder.now() - Math.round((bench.position() - LOOP.startSeconds) * RATE);
    const length = (LOOP.endSeconds - LOOP.startSeconds) * RATE;
    const heard = new Map<Heard, number>();
    for (const side of SIDES) {
      bench.hear(side);
      await played(audition, 0.4);
      // The first whole round of the loop that is heard on this side alone.
      const round = Math.ceil((recorder.now() - started) / length);
      await played(audition, (started + (round + 1) * length - recorder.now()) / RATE + 0.2);
      const { channels, fromFrame } = recorder.take();
      const from = started + round * length - fromFrame;
      heard.set(side, lufs(channels.map((channel) => channel.subarray(from, from + length))));
    }
    const all = [...heard.values()];
    expect(Math.max(...all) - Math.min(...all)).toBeLessThan(0.05);
  });
});
