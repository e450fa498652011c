import { audibleGrid } from '../filters/side-gain.ts';
import { decibels, hertz, milliseconds, toggle } from '../core/parameter-builders.ts';
import { defineProcessor, type Kernel } from '../core/processor.ts';
import { frameHop, frameSize, SpectralFrames } from '../spectral/spectral-frames.ts';
import { KEEP_LOUDNESS, LoudnessMatch, MOST_FILTERED_DB } from '../dynamics/loudness-match.ts';
import { Prominence } from '../spectral/prominence.ts';
import { Ramp } from '../core/ramp.ts';
import { smoothingFactor } from '../dynamics/gain-computer.ts';
import type { Values } from '../core/parameter.ts';

/** The range reaches at least this far, octaves: 24 bands. */
const LEAST_OCTAVES = 1;
/** Outside of the range the reduction ends over this much, octaves. */
const EDGE_OCTAVES = 1 / 12;
/** Reduction below this, dB, has ended. */
const RELEASED = 1e-6;

const parameters = {
  range: decibels('Range', [0, 24], { about: 'Largest gain reduction of a resonance.' }),
  prominence: decibels('Prominence', [1, 12], {
    default: 3,
    about:
      'How far a frequency must stand above its surroundings before it is reduced; at twice as far it is brought level with them, within the range.',
  }),
  from: hertz('Lowest frequency', [500, 8000], { default: 2000, about: 'Resonances below it are not reduced.' }),
  to: hertz('Highest frequency', [1000, 16000], {
    default: 8000,
    about: 'Resonances above it are not reduced; at least an octave above the lowest frequency.',
  }),
  attack: milliseconds('Attack', [1, 200], {
    default: 10,
    about: 'Time for 63 % of an increase in gain reduction (in dB), after the 50 ms that analysis takes.',
  }),
  release: milliseconds('Release', [10, 1000], {
    default: 100,
    about: 'Time for 63 % of a decrease in gain reduction (in dB).',
  }),
  listenToRemoved: toggle('Listen to removed', { about: 'Plays the removed sound instead of the output.' }),
  keepLoudness: KEEP_LOUDNESS,
};

type HarshnessValues = Values<typeof parameters>;

const upperEnd = ({ from, to }: HarshnessValues): number => Math.max(to, from * 2 ** LEAST_OCTAVES);

/** The removed sound is heard at its own level. */
const keepsLoudness = ({ keepLoudness, listenToRemoved }: HarshnessValues): boolean =>
  keepLoudness === 1 && listenToRemoved === 0;

/** How far it works at `hz`: 1 in the range, 0 outside of its edges. */
const shareAt = (hz: number, values: HarshnessValues): number => {
  const outside = Math.max(Math.log2(values.from / hz), Math.log2(hz / upperEnd(values)));
  return Math.max(0, Math.min(1, 1 - outside / EDGE_OCTAVES));
};

/**
 * Reduction, dB, of a band that stands `excessDb` above its surroundings: none up to the set prominence, then 2 dB for each
 * dB until the band is level with them, and no more than the range.
 */
export const reductionFor = (excessDb: number, { range, prominence }: HarshnessValues): number =>
  Math.max(0, Math.min(range, excessDb, 2 * (excessDb - prominence)));

/** For bins from `first` to the last band: where each lies between the bands. */
const placesOf = (bandsHz: Float64Array, first: number, hzPerBin: number): Float64Array => {
  const places: number[] = [];
  for (let bin = first, lower = 0; bin * hzPerBin < bandsHz.at(-1)!; bin++) {
    while (bin * hzPerBin >= bandsHz[lower + 1]!) lower++;
    places.push(lower + (bin * hzPerBin - bandsHz[lower]!) / (bandsHz[lower + 1]! - bandsHz[lower]!));
  }
  return Float64Array.from(places);
};

/** Overlapping spectra; the same reduction on both channels, so that the picture stays still. */
export class HarshnessControlKernel implements Kernel<typeof parameters> {
  /** Reduction of each band now, dB, 0 or more. */
  readonly reductionsDb: Float64Array;
  private readonly frames: SpectralFrames;
  private readonly prominence: Prominence;
  /** How far each band lies between From and To, 0..1. */
  private readonly inRange: Float64Array;
  /** Share removed from each band, and from each bin. */
  private readonly bandShares: Float64Array;
  private readonly shares: Float64Array;
  /** Where each bin from `firstBin` on lies between the bands: 2.5 is half way from the third to the fourth. */
  private readonly places: Float64Array;
  private readonly firstBin: number;
  private readonly dry: Ramp;
  private readonly taken: Ramp;
  private readonly loudness: LoudnessMatch;
  private resting = true;
  /** Frames of the control block already done. */
  private position = 0;

  constructor(
    private values: HarshnessValues,
    private readonly sampleRate: number,
  ) {
    this.frames = new SpectralFrames(sampleRate);
    this.prominence = new Prominence(sampleRate, this.frames.size, frameHop(sampleRate));
    this.reductionsDb = new Float64Array(this.prominence.hz.length);
    this.inRange = new Float64Array(this.reductionsDb.length);
    this.bandShares = new Float64Array(this.reductionsDb.length);
    this.shares = new Float64Array(this.frames.size / 2 + 1);
    const hzPerBin = sampleRate / this.frames.size;
    this.firstBin = Math.ceil(this.bandsHz[0]! / hzPerBin);
    this.places = placesOf(this.bandsHz, this.firstBin, hzPerBin);
    this.dry = new Ramp(1, sampleRate);
    this.taken = new Ramp(-1, sampleRate);
    this.loudness = new LoudnessMatch(keepsLoudness(values), sampleRate, MOST_FILTERED_DB);
    this.set(values);
    this.reset();
  }

  /** Middles of the bands, Hz. */
  get bandsHz(): Float64Array {
    return this.prominence.hz;
  }

  /** Largest reduction of any band now, dB, 0 or more. */
  get reductionDb(): number {
    return this.reductionsDb.reduce((most, reduction) => Math.max(most, reduction), 0);
  }

  set(values: HarshnessValues): void {
    this.values = values;
    for (let band = 0; band < this.inRange.length; band++) this.inRange[band] = shareAt(this.bandsHz[band]!, values);
    this.dry.set(values.listenToRemoved === 1 ? 0 : 1);
    this.taken.set(values.listenToRemoved === 1 ? 1 : -1);
    this.loudness.set(keepsLoudness(values));
  }

  control(): void {
    this.position = 0;
    this.dry.control();
    this.taken.control();
    this.loudness.control();
    if (this.frames.control()) this.look();
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number): void {
    const { frames, loudness, position } = this;
    frames.hearLate(loudness, position, end - start);
    frames.process(left, right, start, end, this.dry, this.taken, position);
    loudness.level(left, right, start, end, position);
    this.position = position + end - start;
  }

  reset(): void {
    this.frames.reset();
    this.prominence.clear();
    this.reductionsDb.fill(0);
    this.resting = true;
    this.dry.reset();
    this.taken.reset();
    this.loudness.reset();
    this.position = 0;
  }

  /** Once a frame: finds what stands out, moves the reductions, and removes their shares. */
  private look(): void {
    if (this.values.range === 0 && this.resting) return this.prominence.clear();
    this.frames.analyse();
    this.prominence.hear(this.frames.spectrum);
    this.moveReductions();
    if (this.resting) return;
    this.spreadShares();
    this.frames.take(this.shares);
  }

  private moveReductions(): void {
    const { values, prominence, inRange, reductionsDb, sampleRate } = this;
    const framesASecond = sampleRate / frameHop(sampleRate);
    const attack = smoothingFactor(values.attack / 1000, framesASecond);
    const release = smoothingFactor(values.release / 1000, framesASecond);
    this.resting = true;
    for (let band = 0; band < reductionsDb.length; band++) {
      const now = reductionsDb[band]!;
      const share = inRange[band]!;
      const target = share === 0 ? 0 : share * reductionFor(prominence.excessDb(band), values);
      const moved = now + (target > now ? attack : release) * (target - now);
      reductionsDb[band] = moved < RELEASED ? 0 : moved;
      if (reductionsDb[band] !== 0) this.resting = false;
    }
  }

  /** Share removed from each bin, interpolated linearly between the bands. */
  private spreadShares(): void {
    const { shares, bandShares, reductionsDb, places, firstBin } = this;
    for (let band = 0; band < reductionsDb.length; band++) bandShares[band] = shareOf(reductionsDb[band]!);
    for (let n = 0; n < places.length; n++) {
      const lower = Math.floor(places[n]!);
      const share = bandShares[lower]!;
      shares[firstBin + n] = share + (places[n]! - lower) * (bandShares[lower + 1]! - share);
    }
  }
}

/** Share of the sound that a reduction takes away. */
const shareOf = (reductionDb: number): number => (reductionDb === 0 ? 0 : 1 - 10 ** (-reductionDb / 20));

export const processor = defineProcessor({
  id: 'harshness-control',
  label: 'Harshness control',
  about: 'Turns down resonances while they are louder than the frequencies around them, at any level of the sound.',
  parameters,
  start: { range: 6 },
  latency: (_values, sampleRate) => frameSize(sampleRate),
  tail: ({ range }, sampleRate) => (range === 0 ? 0 : frameSize(sampleRate)),
  picture: {
    kind: 'frequency',
    x: [20, 20000],
    y: [-24, 6],
    drawn: 'line',
    points: (values, sampleRate, count) =>
      audibleGrid(sampleRate, count).map((hz) => [hz, -values.range * shareAt(hz, values)] as const),
    handles: (values) => {
      const { from, range } = values;
      const to = upperEnd(values);
      return [
        { id: 'from', label: 'Lowest frequency', x: from, y: 0, across: { parameter: 'from', at: (place) => place } },
        { id: 'to', label: 'Highest frequency', x: to, y: 0, across: { parameter: 'to', at: (place) => place } },
        {
          id: 'range',
          label: 'Range',
          x: Math.sqrt(from * to),
          y: -range,
          up: { parameter: 'range', at: (place) => -place },
          wheel: 'prominence',
        },
      ];
    },
  },
  createKernel: (values, sampleRate) => new HarshnessControlKernel(values, sampleRate),
});
