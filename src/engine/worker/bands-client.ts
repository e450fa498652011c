import type { BandGram } from '../../blend/gram/band-gram.ts';
import type { Sound } from '../../audio/audio.ts';
import type { BandsReply, BandsRequest } from './bands-messages.ts';
import { buffersOf, copyOf } from '../excerpt.ts';
import BandsWorker from './bands.worker.ts?worker';

/** The keeper of bands as the measuring worker sees it: sounds go over one at a time, and only those that are new. */
export class BandsClient {
  private readonly worker = new BandsWorker();
  /** What the keeper has, by the places of the paths. */
  private kept: readonly (Sound | null)[] = [];
  private wanted: readonly Sound[] = [];
  /** Whether what the keeper has stands where it is wanted. */
  private isArranged = false;
  private isReady = false;
  private ticket = 0;
  private take: (bands: BandGram) => void = () => {};

  constructor() {
    this.worker.onmessage = ({ data }: MessageEvent<BandsReply>) => {
      if (data.kind === 'bands') {
        if (data.ticket === this.ticket) this.take(data.bands);
        return;
      }
      this.isReady = true;
      this.next();
    };
  }

  /** Bands of these sounds (stereo, alike); those asked for before are no longer told. */
  of(sounds: readonly Sound[]): Promise<BandGram> {
    this.wanted = sounds;
    this.isArranged = false;
    this.ticket++;
    return new Promise((resolve) => {
      this.take = resolve;
      if (this.isReady) this.next();
    });
  }

  dispose(): void {
    this.worker.terminate();
  }

  /** Tells the next thing that the keeper lacks; the bands are asked for when it lacks none. */
  private next(): void {
    if (this.wanted.length === 0) return;
    if (!this.isArranged) return this.arrange();
    const index = this.kept.indexOf(null);
    if (index < 0) {
      this.worker.postMessage({ kind: 'bands', ticket: this.ticket } satisfies BandsRequest);
      return;
    }
    const sound = this.wanted[index]!;
    this.kept = this.kept.with(index, sound);
    const audio = copyOf(sound);
    this.tell({ kind: 'take', index, audio }, buffersOf(audio));
  }

  private arrange(): void {
    const places = this.wanted.map((sound) => {
      const place = this.kept.indexOf(sound);
      return place < 0 ? null : place;
    });
    this.kept = places.map((place, n) => (place === null ? null : this.wanted[n]!));
    this.isArranged = true;
    this.tell({ kind: 'arrange', places });
  }

  private tell(request: BandsRequest, transfer: Transferable[] = []): void {
    this.isReady = false;
    this.worker.postMessage(request, transfer);
  }
}
