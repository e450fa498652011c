import type { GainReductionTrace } from '../dsp/core/processor.ts';
import { HeardMeter } from './heard-meter.ts';
import { LevelMeter } from './level-meter.ts';
import { READ, READ_ONCE, type MeteredNames } from './meters.ts';
import { ReductionReader } from './reduction-reader.ts';

/** Readings a second; the screen draws about as often. */
const READINGS_A_SECOND = 40;

type Samples = Float32Array | Float64Array;

/** One reading; `names` where they are others than in the last one, else null. */
export interface Reading {
  readonly values: Float32Array;
  readonly names: MeteredNames | null;
}

/** All meters of the player, from the start of playing to its end. */
export class SongMeters {
  private readonly heard: HeardMeter;
  private readonly paths = new Map<string, LevelMeter>();
  private readonly readers = new Map<string, ReductionReader>();
  private frames = 0;
  private told = '';

  constructor(private readonly sampleRate: number) {
    this.heard = new HeardMeter(sampleRate);
  }

  /** Adds a path as it goes into the mix: a sound at a gain. */
  addPath(id: string, left: Samples, right: Samples, gain: number, count: number): void {
    const meter = this.paths.get(id) ?? new LevelMeter();
    this.paths.set(id, meter);
    meter.add(left, right, gain, count);
  }

  /** Adds what is heard. */
  addHeard(left: Float32Array, right: Float32Array, count: number): void {
    this.heard.add(left, right, count);
    this.frames += count;
  }

  /** True once it is time to read. */
  get isDue(): boolean {
    return this.frames >= this.sampleRate / READINGS_A_SECOND;
  }

  /**
   * Reads all meters.
   * @param place in the song, seconds
   * @param paths ids of the paths that play
   * @param chains traces of the processors of each chain that runs
   */
  read(
    place: number,
    paths: readonly string[],
    chains: ReadonlyMap<string, readonly (GainReductionTrace | null)[]>,
    lateStretches: number,
  ): Reading {
    this.frames = 0;
    const names = { paths, chains: [...chains].map(([id, traces]) => [id, traces.length] as const) };
    const processors = names.chains.reduce((sum, [, count]) => sum + count, 0);
    const values = new Float32Array(READ_ONCE + 2 * paths.length + processors);
    values[READ.seconds] = place;
    values[READ.lateStretches] = lateStretches;
    this.heard.read(values);
    paths.forEach((id, n) => this.paths.get(id)?.read(values, READ_ONCE + 2 * n));
    let at = READ_ONCE + 2 * paths.length;
    for (const [id, traces] of chains) {
      this.readerOf(id).read(traces, values, at);
      at += traces.length;
    }
    return { values, names: this.isNew(names) ? names : null };
  }

  private readerOf(id: string): ReductionReader {
    const reader = this.readers.get(id) ?? new ReductionReader();
    this.readers.set(id, reader);
    return reader;
  }

  private isNew(names: MeteredNames): boolean {
    const text = JSON.stringify(names);
    const isNew = text !== this.told;
    this.told = text;
    return isNew;
  }
}
