import { isSilent } from '../../audio/silence.ts';
import { framesOf, type Sound } from '../../audio/audio.ts';
import {
  STRETCH_FRAMES,
  type Fed,
  type FeedAnswer,
  type FeedRequest,
  type StretchName,
} from '../../audition/feed-messages.ts';
import type { LiveOrder, LiveReport } from '../../audition/live-messages.ts';

/** Stretches per message: urgent ones do not wait for the rest. */
const IN_A_MESSAGE = 16;
/** Samples in buffers that are kept for reuse: 8 MB. */
const MOST_SPARE = 128;

/** Sends sounds to the player, stretch by stretch, directly to the audio thread. Playing sounds are kept until others play. */
export class SoundFeed {
  private held: ReadonlyMap<number, Sound> = new Map();
  /** Buffers for reuse. */
  private readonly spare: Float32Array[] = [];

  constructor(
    private readonly port: MessagePort,
    /** A sound by its number; null: it is gone. */
    private readonly soundOf: (id: number) => Sound | null,
    /** Frames already rendered of a sound; Infinity: all. */
    private readonly reachOf: (sound: Sound) => number = () => Infinity,
    /** Called with messages of the player on live strips. */
    private readonly onLive: (report: LiveReport) => void = () => {},
  ) {
    port.onmessage = ({ data }: MessageEvent<FeedRequest>) => this.hear(data);
  }

  private hear(request: FeedRequest): void {
    if ('ask' in request) {
      this.spare.push(...request.used.slice(0, MOST_SPARE - this.spare.length));
      this.send(request.ask);
    } else if ('hold' in request) this.hold(request.hold);
    else this.onLive(request);
  }

  /** Sends live strips to the player. */
  tellLive(order: LiveOrder, transfer: Transferable[] = []): void {
    this.port.postMessage(order, transfer);
  }

  private hold(ids: readonly number[]): void {
    const sounds = ids.map((id) => [id, this.find(id)] as const);
    this.held = new Map(sounds.filter((entry): entry is readonly [number, Sound] => entry[1] !== null));
  }

  private find(id: number): Sound | null {
    return this.held.get(id) ?? this.soundOf(id);
  }

  private send(names: readonly StretchName[]): void {
    for (let at = 0; at < names.length; at += IN_A_MESSAGE) {
      const answer = names.slice(at, at + IN_A_MESSAGE).map((name) => ({ ...name, fed: this.stretchOf(name) }));
      this.port.postMessage(answer satisfies FeedAnswer, buffersIn(answer));
    }
  }

  private stretchOf({ sound: id, index }: StretchName): Fed {
    const sound = this.find(id);
    if (!sound) return 'gone';
    const from = index * STRETCH_FRAMES;
    const to = Math.min(framesOf(sound), from + STRETCH_FRAMES);
    if (to > this.reachOf(sound)) return 'later';
    const [first, second = first] = sound.channels;
    const left = this.filled(first!.subarray(from, to));
    const right = second === first ? left : this.filled(second!.subarray(from, to));
    return isSilent(left) && isSilent(right) ? 'silent' : { left, right };
  }

  /** A copy, padded to the length of a stretch. */
  private filled(samples: Float32Array): Float32Array {
    const stretch = this.spare.pop() ?? new Float32Array(STRETCH_FRAMES);
    stretch.set(samples);
    stretch.fill(0, samples.length);
    return stretch;
  }

  /** Ends sending. */
  close(): void {
    this.port.close();
    this.held = new Map();
  }
}

const buffersIn = (answer: FeedAnswer): Transferable[] => [
  ...new Set(
    answer.flatMap(({ fed }) =>
      typeof fed === 'string' ? [] : [fed.left.buffer as ArrayBuffer, fed.right.buffer as ArrayBuffer],
    ),
  ),
];
