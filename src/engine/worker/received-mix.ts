import { framesOf, placedSound, type Sound } from '../../audio/audio.ts';
import type { GrowingPaths, RenderedPaths } from '../../render/executor.ts';
import { gainsOf, summedPaths } from '../../render/mix.ts';
import type { Plan } from '../../render/plan/plan.ts';
import { KeptCopy } from '../../render/store/kept.ts';
import type { Session } from '../../session/schema.ts';
import { answerOf } from '../job.ts';
import { inSlices } from '../slices.ts';
import type { Song } from '../song.ts';
import { RENDERED_TOGETHER, type GrowingMix } from './growing-mix.ts';
import { sameSound } from './question-desk.ts';

/** A running sum of these groups. */
interface Summing {
  readonly plan: Plan;
  readonly groups: RenderedPaths;
  readonly copy: KeptCopy;
}

const sameGains = (a: Plan, b: Plan): boolean => a.paths.every(({ gain }, n) => gain === b.paths[n]!.gain);

/** Samples of `audio` within the plan's song, stereo. */
const within = (sound: Sound, frames: number): Sound => placedSound(sound, 0, Math.min(frames, framesOf(sound)));

/** The mix as received: summed as far as its groups are rendered, and kept as long as its sound is the same. */
export class ReceivedMix {
  private whole: { readonly plan: Plan; readonly sound: Sound } | null = null;
  /** A stopped render is resumed. */
  private summing: Summing | null = null;

  constructor(
    private readonly song: Song,
    /** Frames already rendered of sounds that are being rendered. */
    private readonly reaches: WeakMap<Sound, () => number>,
    /** Called with the groups once all are complete, as long as the song. */
    private readonly onGroups: (groups: RenderedPaths) => void,
  ) {}

  /** The mix as received of a session; the same object as long as its sound is the same. `growing` is called with its playable part meanwhile. */
  async of(session: Session, signal: AbortSignal, growing: GrowingMix): Promise<Sound> {
    const { plan } = this.song.planned(this.song.asReceived(session));
    if (this.whole && sameSound(plan, this.whole.plan) && sameGains(plan, this.whole.plan)) {
      growing.receivedWhole(this.whole.sound);
      return this.whole.sound;
    }
    const onBegun = ({ paths, reach }: GrowingPaths): void => {
      const { copy } = this.summed(plan, paths);
      const ids = [...paths.keys()];
      growing.receivedBegun(copy, () => Math.min(...ids.map(reach)));
    };
    const job = this.song.received(session, 'kept', { follows: 'received', abreast: RENDERED_TOGETHER, onBegun });
    const { paths: groups } = await answerOf(job, { signal, onProgress: () => growing.look() });
    const { copy } = this.summed(plan, groups);
    growing.receivedBegun(copy, () => Infinity);
    const sound = await inSlices(copy.rest(), () => signal.aborted);
    if (!sound) throw signal.reason as Error;
    this.summing = null;
    this.onGroups(new Map([...groups].map(([id, audio]) => [id, within(audio, plan.songFrames)])));
    this.whole = { plan, sound };
    return sound;
  }

  forget(): void {
    this.whole = this.summing = null;
  }

  /** The sum of groups as received, as far as it is rendered. */
  private summed(plan: Plan, groups: RenderedPaths): Summing {
    const known = this.summing;
    const isKnown =
      known && sameGains(plan, known.plan) && [...groups].every(([id, each]) => known.groups.get(id) === each);
    if (isKnown) return known;
    const copy = new KeptCopy(this.song.room, within(summedPaths(groups, gainsOf(plan)), plan.songFrames));
    this.reaches.set(copy.sound, () => copy.reach);
    return (this.summing = { plan, groups, copy });
  }
}
