import { framesOf, type Sound } from '../../audio/audio.ts';
import type { BandGram } from '../../blend/gram/band-gram.ts';
import type { BandsReply, BandsRequest } from './bands-messages.ts';
import { buffersOf, copyOf, excerptOf } from '../excerpt.ts';
import BandsWorker from './bands.worker.ts?worker';

/** The sounds whose bands are being computed, and how much of them has been sent. */
interface Wanted {
  readonly ticket: number;
  readonly sounds: readonly Sound[];
  readonly take: (bands: BandGram) => void;
  /** The sounds that are sent in step, and the end frame of each stretch. */
  given: readonly Sound[];
  ends: readonly number[];
  /** Number of stretches sent. */
  count: number;
}

/** Client of the bands worker in the measuring worker: sends the sounds that it must read, stretch by stretch. */
export class BandsClient {
  private readonly worker = new BandsWorker();
  /** Numbers of sounds in messages. */
  private readonly numbers = new WeakMap<Sound, number>();
  private lastNumber = 0;
  private wanted: Wanted | null = null;
  private isReady = false;
  private ticket = 0;

  constructor() {
    this.worker.onmessage = ({ data }: MessageEvent<BandsReply>) => this.hear(data);
  }

  /** Requests the bands of these sounds (stereo, of one rate and length); an earlier request is dropped. */
  of(sounds: readonly Sound[]): Promise<BandGram> {
    return new Promise((take) => {
      this.wanted = { ticket: ++this.ticket, sounds, take, given: [], ends: [], count: 0 };
      if (this.isReady) this.ask(this.wanted);
    });
  }

  dispose(): void {
    this.worker.terminate();
  }

  private hear(reply: BandsReply): void {
    const { wanted } = this;
    if (reply.kind === 'ready') {
      this.isReady = true;
      if (wanted) this.ask(wanted);
    } else if (wanted?.ticket === reply.ticket) this.answer(wanted, reply);
  }

  private ask({ ticket, sounds }: Wanted): void {
    const [first] = sounds;
    if (!first) return;
    const { sampleRate } = first;
    this.tell({
      kind: 'bands',
      ticket,
      sounds: sounds.map((each) => this.numberOf(each)),
      sampleRate,
      frames: framesOf(first),
    });
  }

  private answer(wanted: Wanted, reply: Exclude<BandsReply, { kind: 'ready' }>): void {
    if (reply.kind === 'bands') return wanted.take(reply.bands);
    if (reply.kind === 'wants') {
      const byNumber = new Map(wanted.sounds.map((sound) => [this.numberOf(sound), sound]));
      wanted.given = reply.sounds.map((number) => byNumber.get(number)!);
      wanted.ends = reply.ends;
      // The next stretch is sent while one is processed.
      this.give(wanted);
    }
    this.give(wanted);
  }

  /** Sends the next stretch, if any. */
  private give(wanted: Wanted): void {
    const { ticket, given, ends, count } = wanted;
    if (count === ends.length) return;
    const frames = { from: ends[count - 1] ?? 0, to: ends[count]! };
    const parts = given.map((sound) => copyOf(excerptOf(sound, frames)));
    wanted.count++;
    this.tell({ kind: 'stretch', ticket, parts: parts.map(({ channels }) => channels) }, buffersOf(...parts));
  }

  private numberOf(sound: Sound): number {
    const number = this.numbers.get(sound) ?? ++this.lastNumber;
    this.numbers.set(sound, number);
    return number;
  }

  private tell(request: BandsRequest, transfer: Transferable[] = []): void {
    this.worker.postMessage(request, transfer);
  }
}
