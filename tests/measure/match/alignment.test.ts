import { describe, expect, it } from 'vitest';
import { readAudioFile } from '../../../src/files/node/node-files.ts';
import { alignmentOf, LEAST_EXPLAINED } from '../../../src/measure/match/alignment.ts';
import { minimumPhaseOf } from '../../../src/measure/minimum-phase.ts';
import { presets } from '../../../src/session/presets/presets.ts';
import { stepsOf } from '../../../src/session/values.ts';
import { renderChain } from '../../../src/render/chain-render.ts';
import { isSoaking, sampleOf } from '../../helpers/soak.ts';
import { pinkNoise, stereo } from '../../helpers/signals.ts';

const SECONDS = 2.7;
/** Noise in bursts, so that dynamics processors have something to do. */
const dry = pinkNoise(SECONDS, 11, 0.1).map((x, n) => x * (0.05 + 3 * Math.exp((-9 * (n % 24_000)) / 48_000)));

const later = (signal: Float32Array, samples: number): Float32Array => signal.map((_, n) => signal[n - samples] ?? 0);

const chainOf = (name: string): Float32Array => {
  const preset = presets.find((each) => each.name === name);
  if (preset?.kind !== 'chain') throw new RangeError(`no chain preset ${name}`);
  return renderChain(stereo(dry), stepsOf(preset.chain, 120, [4, 4]), null).channels[0]!;
};

/** Seeded white noise, one channel. */
const noise = (frames: number, seed: number): Float32Array => {
  let state = seed;
  return Float32Array.from({ length: frames }, () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 31 - 1;
  });
};

describe('alignment of two signals', () => {
  const dry = noise(96_000, 7);

  it.each([0, 1, 37, 128, 2205, -300])('finds a copy that is %i samples late', (lag) => {
    const found = alignmentOf(dry, later(dry, lag));
    expect(found).toMatchObject({ lagSamples: lag, polarity: 1 });
  });

  it('finds an inverted copy', () => {
    expect(
      alignmentOf(
        dry,
        later(dry, 12).map((x) => -0.3 * x),
      ),
    ).toMatchObject({ lagSamples: 12, polarity: -1 });
  });

  it('finds no lag through a one-pole low cut and saturation, which shift phase but not time', () => {
    let low = 0;
    const coloured = dry.map((x) => Math.tanh(2 * (x - (low += 0.05 * (x - low)))));
    expect(alignmentOf(dry, coloured)).toMatchObject({ lagSamples: 0, polarity: 1 });
  });

  it('finds no lag in what a low pass has turned, and one sample in what is a sample late', () => {
    let state = 0;
    const dull = dry.map((x) => (state += 0.3 * (x - state)));
    expect(alignmentOf(dry, dull)).toMatchObject({ lagSamples: 0 });
    expect(alignmentOf(dry, later(dull, 3))?.lagSamples).toBeGreaterThanOrEqual(3);
  });

  it('says nothing of strangers, and nothing of silence', () => {
    expect(alignmentOf(dry, noise(96_000, 99))).toBeNull();
    expect(alignmentOf(dry, new Float32Array(96_000))).toBeNull();
  });
});

describe('a processed copy against what it was made of', () => {
  /** Each lag is tried on two of the presets, and when soaking on all. */
  const lags = [0, 1, 5, 37, 400];
  const names = ['drum squeeze', 'kick and snare crush', 'tape colour', 'lead vocal press', 'air lift', 'guitar push'];

  it.each(names.map((name, n) => [name, n] as const))(
    'through "%s": the lag is found to the sample, and none where there is none',
    (name, n) => {
      const wet = chainOf(name);
      for (const lag of isSoaking ? lags : [lags[n % lags.length]!, lags[(n + 2) % lags.length]!])
        expect(alignmentOf(dry, later(wet, lag)), `${lag} late`).toMatchObject({ lagSamples: lag, polarity: 1 });
      const inverted = later(wet, 37).map((x) => -x);
      expect(alignmentOf(dry, inverted)).toMatchObject({ lagSamples: 37, polarity: -1 });
    },
  );

  it.each(sampleOf(['bass drive', 'midrange grit'], 1))(
    'through the steep filters of "%s" nothing is called late',
    (name) => {
      const wet = chainOf(name);
      expect(alignmentOf(dry, wet)).toMatchObject({ lagSamples: 0, polarity: 1 });
      // What is left of their phase may pass for up to three samples.
      expect(Math.abs(alignmentOf(dry, later(wet, 37))!.lagSamples - 37)).toBeLessThanOrEqual(3);
    },
  );

  it.each(sampleOf(['quarter delay', 'long plate', 'short plate'], 2))(
    '"%s" is an echo or a room: no lag explains it',
    (name) => {
      expect(alignmentOf(dry, chainOf(name))?.explained ?? 0).toBeLessThan(LEAST_EXPLAINED);
    },
  );

  it('an echo of repeating music has no lag, though its notes come round again', () => {
    const bar = dry.slice(0, 24_000);
    const loop = dry.map((_, n) => bar[n % bar.length]! + 0.3 * Math.sin((2 * Math.PI * 110 * n) / 48_000));
    expect(alignmentOf(loop, later(loop, 9_000))?.explained ?? 0).toBeLessThan(LEAST_EXPLAINED);
  });

  it('two parts of a song that share little in a short stretch are answered, with little explained', async () => {
    const [bass, pad] = await Promise.all(
      ['bass', 'pad'].map(async (name) => {
        const { sampleRate, channels } = await readAudioFile(`demo-audio/tracks/${name}.flac`);
        return channels[0]!.slice(20.5 * sampleRate, 21.36 * sampleRate);
      }),
    );
    for (const found of [alignmentOf(bass!, pad!), alignmentOf(pad!, bass!)])
      expect(found?.explained ?? 0).toBeLessThan(LEAST_EXPLAINED);
  });

  it('nothing is said of strangers or of silence', () => {
    expect(alignmentOf(dry, pinkNoise(SECONDS, 12, 0.1))).toBeNull();
    expect(alignmentOf(dry, new Float32Array(dry.length))).toBeNull();
  });
});

describe('the phase that goes with a magnitude', () => {
  it('is that of a one-pole low pass, known in closed form', () => {
    const pole = 0.8;
    const bins = 8193;
    const angle = (k: number): number => (Math.PI * k) / (bins - 1);
    const magnitude = Float64Array.from({ length: bins }, (_, k) =>
      k === 0 ? 1 / (1 - pole) : 1 / Math.hypot(1 - pole * Math.cos(angle(k)), pole * Math.sin(angle(k))),
    );
    const phase = minimumPhaseOf(magnitude);
    for (const k of [100, 400, 1500, 4000, 7000]) {
      const expected = -Math.atan2(pole * Math.sin(angle(k)), 1 - pole * Math.cos(angle(k)));
      // The magnitudes are averaged over a sixth of an octave, which moves phases by about a hundredth.
      expect(phase[k]).toBeCloseTo(expected, 1.7);
    }
  });
});
