import type { Sound } from '../../audio/audio.ts';
import type { Samples } from '../../audio/samples.ts';
import type { BandGram } from '../../blend/gram/band-gram.ts';
import { BandKeeper } from '../../blend/gram/band-keeper.ts';
import { windowStarts, spectrumFrame } from '../../measure/spectrum.ts';
import { inSlices } from '../slices.ts';
import type { BandsReply, BandsRequest } from './bands-messages.ts';

/** One channel of a sound of which only the last received stretch is kept. */
class FedSamples implements Samples {
  private readonly last: Float32Array;
  private end = 0;

  constructor(
    readonly length: number,
    size: number,
  ) {
    this.last = new Float32Array(size);
  }

  feed(part: Float32Array): void {
    const { last } = this;
    last.copyWithin(0, part.length);
    last.set(part, last.length - part.length);
    this.end += part.length;
  }

  restart(): void {
    this.end = 0;
  }

  subarray(from: number, to: number): Float32Array {
    const first = this.end - this.last.length;
    return this.last.subarray(from - first, to - first);
  }
}

interface FedSound extends Sound {
  readonly channels: readonly FedSamples[];
}

/** The bands that are being computed. */
interface Work {
  readonly ticket: number;
  readonly steps: Generator<number, BandGram>;
  readonly fed: readonly FedSound[];
  /** Number of stretches still to come. */
  left: number;
}

/** Computes bands of sounds that are received stretch by stretch, so that no whole sound is in memory. */
export class BandsService {
  private readonly keeper = new BandKeeper();
  private sounds = new Map<number, FedSound>();
  private work: Work | null = null;

  constructor(private readonly reply: (reply: BandsReply) => void) {}

  hear(request: BandsRequest): void {
    if (request.kind === 'bands') this.begin(request);
    else if (this.work?.ticket === request.ticket) this.goOn(this.work, request.parts);
  }

  private begin({ ticket, sounds, sampleRate, frames }: Extract<BandsRequest, { kind: 'bands' }>): void {
    const size = spectrumFrame(sampleRate);
    const fresh = (): FedSound => ({ sampleRate, channels: [0, 1].map(() => new FedSamples(frames, size)) });
    const known = this.sounds;
    this.sounds = new Map(sounds.map((number) => [number, known.get(number) ?? fresh()]));
    const paths = sounds.map((number) => this.sounds.get(number)!);
    const fed = this.keeper.wantedOf(paths) as readonly FedSound[];
    const steps = this.keeper.bandSteps(paths);
    if (fed.length === 0) {
      this.work = { ticket, steps, fed, left: 0 };
      return void this.finish(this.work);
    }
    for (const { channels } of fed) for (const channel of channels) channel.restart();
    const ends = windowStarts(frames, size).map((start) => Math.min(frames, start + size));
    this.work = { ticket, steps, fed, left: ends.length };
    const numbers = [...this.sounds].flatMap(([number, sound]) => (fed.includes(sound) ? [number] : []));
    this.reply({ kind: 'wants', ticket, sounds: numbers, ends });
  }

  private goOn(work: Work, parts: readonly (readonly Float32Array[])[]): void {
    const { ticket, steps, fed } = work;
    fed.forEach(({ channels }, n) => channels.forEach((channel, c) => channel.feed(parts[n]![c]!)));
    steps.next();
    if (--work.left > 0) this.reply({ kind: 'more', ticket });
    else void this.finish(work);
  }

  /** Finishes without more sound; stops as soon as other bands are requested. */
  private async finish(work: Work): Promise<void> {
    const bands = await inSlices(work.steps, () => this.work !== work);
    if (bands) this.reply({ kind: 'bands', ticket: work.ticket, bands });
  }
}
