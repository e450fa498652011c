import type { FeedAnswer, FeedRequest } from './feed-messages.ts';
import type { LiveOrder } from './live-messages.ts';
import { SONG_PROCESSOR, type SongMessage, type SongReport } from './song-messages.ts';
import { SongMixer } from './song-mixer.ts';

/** The mixer as an audio node: messages of the page and of the feed go in, sound comes out. */
class SongWorklet extends AudioWorkletProcessor {
  private feed: MessagePort | null = null;
  private toldLate = 0;
  private isOver = false;
  private readonly mixer = new SongMixer(sampleRate, {
    ask: (ask, used) =>
      this.request(
        { ask, used },
        used.map(({ buffer }) => buffer as ArrayBuffer),
      ),
    holds: () => this.request({ hold: this.mixer.sounds }),
    plays: (anchor) => this.tell({ kind: 'plays', anchor }),
    waits: (place, jump) => this.tell({ kind: 'waits', place, jump }),
    tellLive: (report) => this.feed?.postMessage(report satisfies FeedRequest),
    ended: () => this.tell({ kind: 'ended' }),
    read: (reading) => this.port.postMessage({ kind: 'meters', reading }, [reading.values.buffer]),
  });

  constructor() {
    super();
    this.port.onmessage = ({ data }: MessageEvent<SongMessage>) => this.hear(data);
  }

  private tell(report: SongReport): void {
    this.port.postMessage(report);
  }

  private request(request: FeedRequest, transfer: Transferable[] = []): void {
    this.feed?.postMessage(request, transfer);
  }

  private hear(message: SongMessage): void {
    const { mixer } = this;
    switch (message.kind) {
      case 'feed':
        this.setFeed(message.port);
        return;
      case 'program':
        mixer.load(message.program);
        return;
      case 'gains':
        mixer.set(message.gains, message.throughSilence);
        return;
      case 'mix bus':
        mixer.setMixBus(message.mixBus);
        return;
      case 'moves':
        mixer.moveLive(message.moves);
        return;
      case 'check':
        mixer.setCheck(message.check);
        return;
      case 'loop':
        mixer.setLoop(message.loop);
        return;
      case 'play':
        mixer.play(message.place, message.jump);
        return;
      case 'pause':
        mixer.stop();
        return;
      case 'metering':
        mixer.setMetering(message.on);
        return;
      case 'end':
        this.end();
    }
  }

  /** A processor that says it has more to come, and ports that are open, are held by the browser for good. */
  private end(): void {
    this.isOver = true;
    this.mixer.shelf.clear();
    this.feed?.close();
    this.port.close();
  }

  /** Another feed numbers its sounds otherwise. */
  private setFeed(port: MessagePort): void {
    this.feed?.close();
    this.feed = port;
    this.mixer.shelf.clear();
    port.onmessage = ({ data }: MessageEvent<FeedAnswer | LiveOrder>) => {
      if ('length' in data) this.mixer.take(data);
      else this.mixer.hearLive(data);
    };
    this.request({ hold: this.mixer.sounds });
  }

  override process(_inputs: unknown, outputs: readonly (readonly Float32Array[])[]): boolean {
    const [left, right] = outputs[0]!;
    this.mixer.process(currentFrame, left!, right!, left!.length);
    if (this.mixer.lateStretches !== this.toldLate) {
      this.toldLate = this.mixer.lateStretches;
      this.tell({ kind: 'late stretches', count: this.toldLate });
    }
    return !this.isOver;
  }
}

registerProcessor(SONG_PROCESSOR, SongWorklet);
