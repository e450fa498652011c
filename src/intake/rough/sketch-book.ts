import { framesOf, type Audio } from '../../audio/audio.ts';
import { centred } from './centred.ts';
import { sketchOf, type Sketch } from './sketch.ts';
import { frameLength, sketchPlan, type SketchPlan } from './sketch-plan.ts';

/** Everything that is kept of the tracks of a song. */
export interface SongSketch {
  readonly plan: SketchPlan;
  /** In the order in which the tracks were added. */
  readonly sketches: readonly Sketch[];
  /** The sum of all tracks, one channel, each brought to about the same level: what the rough's lag is looked for in. */
  readonly song: Float32Array;
}

/** Tracks quieter than this (rms) are not brought up to the others in the sum: they are pauses and noise. */
const LEAST_RMS = 1e-3;

const rmsOf = (channel: Float32Array): number => {
  let sum = 0;
  for (let n = 0; n < channel.length; n++) sum += channel[n]! ** 2;
  return Math.sqrt(sum / channel.length);
};

/**
 * Takes the tracks of a song one after the other and keeps a sketch of each, so that their sound need never be in memory
 * together. How long the song is need not be known: when a longer track comes, every other frame is dropped.
 */
export class SketchBook {
  private plan: SketchPlan;
  private readonly pages: { sketch: Sketch; frames: number }[] = [];
  private sum = new Float32Array(0);

  constructor(sampleRate: number) {
    this.plan = sketchPlan(sampleRate, 1);
  }

  get sampleRate(): number {
    return this.plan.sampleRate;
  }

  /** Adds a track of one or two channels at the book's rate that starts `offset` samples into the song. */
  add(audio: Audio, offset: number): void {
    const end = Math.max(1, framesOf(audio) + offset);
    while (sketchPlan(this.sampleRate, end).hop > this.plan.hop) this.thin();
    const frames = Math.ceil(end / this.plan.hop);
    const plan = { ...this.plan, frames };
    const sketch = sketchOf(plan, centred(audio), (frame) => frame * plan.hop - offset);
    this.pages.push({ sketch, frames });
    this.addToSum(audio, offset, end);
  }

  private addToSum({ channels }: Audio, offset: number, end: number): void {
    if (this.sum.length < end) {
      const longer = new Float32Array(end);
      longer.set(this.sum);
      this.sum = longer;
    }
    const rms = Math.max(LEAST_RMS, ...channels.map(rmsOf));
    for (const channel of channels) {
      const gain = 0.1 / (rms * channels.length);
      for (let n = Math.max(0, -offset); n < channel.length; n++) this.sum[n + offset]! += gain * channel[n]!;
    }
  }

  /** Twice as far from frame to frame. */
  private thin(): void {
    const length = frameLength(this.plan);
    this.pages.forEach((page) => {
      const frames = Math.ceil(page.frames / 2);
      const channels = page.sketch.channels.map((channel) => {
        const out = new Float32Array(frames * length);
        for (let frame = 0; frame < frames; frame++) {
          out.set(channel.subarray(2 * frame * length, (2 * frame + 1) * length), frame * length);
        }
        return out;
      });
      Object.assign(page, { sketch: { channels }, frames });
    });
    this.plan = { ...this.plan, hop: 2 * this.plan.hop };
  }

  /** All that was kept, each sketch as long as the song. */
  finish(): SongSketch {
    const frames = Math.max(1, ...this.pages.map((page) => page.frames));
    const plan = sketchPlan(this.sampleRate, frames * this.plan.hop, this.plan.hop);
    const length = plan.frames * frameLength(plan);
    const sketches = this.pages.map(({ sketch }) => ({
      channels: sketch.channels.map((channel) => {
        if (channel.length === length) return channel;
        const out = new Float32Array(length);
        out.set(channel);
        return out;
      }),
    }));
    return { plan, sketches, song: this.sum };
  }
}
