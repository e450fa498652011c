import { framesOf, secondsOf, type Sound } from '../../audio/audio.ts';
import { asReceived, makePlan } from '../../render/plan/make-plan.ts';
import { originsOf } from '../../render/plan/origins.ts';
import type { Plan } from '../../render/plan/plan.ts';
import type { Session } from '../../session/schema.ts';
import type { Song } from '../song.ts';
import type { FirstLevels } from './protocol.ts';
import type { LiveDesk } from './live-desk.ts';
import type { Measuring } from './measuring.ts';
import type { Outbox, Rendered } from './outbox.ts';
import type { PassPrints } from './pass-prints.ts';
import type { ReceivedMix } from './received-mix.ts';

/** Parts of the engine that use the rendered mix. */
interface MixParts {
  readonly song: Song;
  readonly outbox: Outbox;
  readonly measuring: Measuring;
  readonly received: ReceivedMix;
  readonly prints: PassPrints;
  readonly live: LiveDesk;
}

/** Length of a song: as long as its mix or its rough, frames. */
const songFrames = (plan: Plan, rough: Sound | null): number => Math.max(plan.soundFrames, rough ? framesOf(rough) : 0);

/** The rendered song: sends it for playback, and passes it on for measuring; only new sound is measured. */
export class RenderedMix {
  private whole: Rendered | null = null;
  private last: Rendered | null = null;
  /** The session whose measurement was last requested; null: it does not include all open files. */
  measuredOf: Session | null = null;
  /** The rough that was measured last, and the length of the song then. */
  private measuredRough: { readonly rough: Sound; readonly seconds: number } | null = null;
  /** The rough that can be played next to a mix that is being rendered; undefined: there is no such mix. */
  private growsBeside: Sound | null | undefined;
  private length = 0;

  constructor(private readonly parts: MixParts) {}

  /** The last render whose session was current when it ended; null: none. */
  get rendered(): Rendered | null {
    return this.whole;
  }

  /** The last render that was sent for playback, overtaken or not. */
  get heard(): Rendered | null {
    return this.last;
  }

  /** Length of the song. */
  get seconds(): number {
    return this.length;
  }

  /** Another song: forgets the last one. */
  clear(): void {
    this.whole = null;
    this.forgetSound();
  }

  /** The session cannot be rendered: drops the render of the last one; the rough may exist. */
  putDown(session: Session): void {
    if (this.whole) this.clear();
    this.offerRough(session);
    this.measuredOf = session;
    this.parts.measuring.nothing();
  }

  private forgetSound(): void {
    const { received, live, prints, measuring, outbox } = this.parts;
    this.measuredRough = null;
    received.forget();
    this.length = 0;
    this.last = null;
    this.growsBeside = undefined;
    live.clear();
    prints.clear();
    measuring.forget();
    outbox.forget();
  }

  /** The rough needs no rendering: it can be played alone until the mix is rendered. */
  offerRough(session: Session): void {
    if (this.whole) return;
    this.growsBeside = undefined;
    const rough = this.parts.song.roughOf(session);
    if (!rough) {
      if (this.measuredRough) this.forgetSound();
      return;
    }
    const plan = makePlan(asReceived({ ...session, tracks: [], groups: [] }), new Map());
    this.setSeconds(secondsOf(rough));
    this.measureRough(rough);
    this.parts.outbox.hearable({ plan, paths: new Map(), received: null, rough }, this.length, false);
  }

  /** The rough, unless it is played next to the mix that is being rendered. */
  offerNewRough(session: Session): void {
    if (this.growsBeside !== this.parts.song.roughOf(session)) this.offerRough(session);
  }

  /** The playable part of the first render of a song while it runs. */
  grow(mix: Rendered, levels: FirstLevels): void {
    const { plan, rough } = mix;
    const seconds = songFrames(plan, rough) / plan.sampleRate;
    if (!rough) this.setSeconds(seconds);
    this.growsBeside = rough;
    this.parts.outbox.growing(mix, seconds, levels);
  }

  /** Takes the render of a session: only new sound is measured and loaded. */
  finish(session: Session, rendered: Rendered): void {
    const { measuring, outbox, prints } = this.parts;
    const { plan, paths, received, rough } = rendered;
    const before = this.whole;
    this.whole = rendered;
    this.setSeconds(songFrames(plan, rough) / plan.sampleRate);
    const seconds = this.length;
    outbox.state({ phase: 'ready', progress: 1, message: '' });
    const longer = before ? before.plan.soundFrames !== plan.soundFrames : true;
    this.measuredOf = session;
    outbox.view({ measuredPart: 0 });
    this.measureRough(rough);
    if (received === null) {
      // Measurements are those of an earlier mix.
      this.parts.received.forget();
      outbox.forgetMix();
      measuring.nothing();
    } else {
      if (paths !== before?.paths) measuring.paths(paths, originsOf(plan));
      if (received !== before?.received || longer) measuring.measure('received', received, seconds);
      measuring.blend(session, plan, seconds, [...(rough ? (['rough'] as const) : []), 'received']);
    }
    if (!before) prints.follow(session);
    this.offer(session, rendered, false);
    outbox.prints(prints, seconds);
  }

  /** The render of a session that has been edited since is played through the newest mix bus. */
  hearOvertaken(newest: Session, rendered: Rendered): void {
    this.parts.outbox.mixBus(this.parts.song.planned(newest).plan.mixBus);
    this.offer(newest, rendered, true);
  }

  private offer(newest: Session, rendered: Rendered, isOvertaken: boolean): void {
    const { live, outbox, song } = this.parts;
    this.last = rendered;
    outbox.hearable(rendered, this.length, isOvertaken);
    live.follow(song.planned(newest).plan);
    live.rendered();
  }

  private setSeconds(seconds: number): void {
    this.length = seconds;
    this.parts.outbox.view({ seconds });
  }

  /** Measures the rough where it is new, or the length of its overview has changed. */
  private measureRough(rough: Sound | null): void {
    const { measuredRough: before, length: seconds } = this;
    const { measuring, outbox } = this.parts;
    if (rough !== (before?.rough ?? null)) outbox.find({ rough: null });
    this.measuredRough = rough && { rough, seconds };
    if (!rough) measuring.without('rough');
    else if (rough !== before?.rough || seconds !== before.seconds) measuring.measure('rough', rough, seconds);
  }
}
