import type { BandGram } from '../../blend/gram/band-gram.ts';
import { framesOf, type Audio } from '../../audio/audio.ts';
import type { BandsReply, BandsRequest } from './bands-messages.ts';
import { buffersOf, copyOf } from './excerpt.ts';
import BandsWorker from './bands.worker.ts?worker';

/** The keeper of bands as the measuring worker sees it: sounds go over one at a time, and only those that are new. */
export class BandsClient {
  private readonly worker = new BandsWorker();
  /** What the keeper has, by the places of the paths. */
  private kept: readonly (Audio | undefined)[] = [];
  private wanted: readonly Audio[] = [];
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
  of(sounds: readonly Audio[]): Promise<BandGram> {
    this.wanted = sounds;
    this.ticket++;
    return new Promise((resolve) => {
      this.take = resolve;
      if (this.isReady) this.next();
    });
  }

  /** Tells the next thing that the keeper lacks; the bands are asked for when it lacks none. */
  private next(): void {
    const { wanted, kept } = this;
    if (wanted.length === 0) return;
    const [first, old] = [wanted[0]!, kept.find((sound) => sound !== undefined)];
    const isOther =
      old && (kept.length > wanted.length || old.sampleRate !== first.sampleRate || framesOf(old) !== framesOf(first));
    if (isOther) {
      this.kept = [];
      return this.tell({ kind: 'clear' });
    }
    const index = wanted.findIndex((sound, n) => sound !== kept[n]);
    if (index < 0) {
      this.worker.postMessage({ kind: 'bands', ticket: this.ticket } satisfies BandsRequest);
      return;
    }
    const sound = wanted[index]!;
    this.kept = Array.from({ length: Math.max(kept.length, index + 1) }, (_, n) => (n === index ? sound : kept[n]));
    const audio = copyOf(sound);
    this.tell({ kind: 'take', index, audio }, buffersOf(audio));
  }

  private tell(request: BandsRequest, transfer: Transferable[] = []): void {
    this.isReady = false;
    this.worker.postMessage(request, transfer);
  }
}
