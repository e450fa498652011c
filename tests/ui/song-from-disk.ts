import { readSessionFromDisk } from '../../src/cli/session-on-disk.ts';
import type { Audio } from '../../src/audio/audio.ts';
import { renderDirect } from '../../src/render/direct.ts';
import { pathsInMemory } from '../../src/render/executor.ts';
import { asReceived, makePlan } from '../../src/render/plan/make-plan.ts';
import type { Plan } from '../../src/render/plan/plan.ts';
import { settledPlan } from '../../src/render/print.ts';
import { factsOf, sourcesAt, type Sources } from '../../src/render/plan/sources.ts';
import { memoryRoom } from '../../src/render/store/room.ts';
import type { Session } from '../../src/session/schema.ts';

/** A session with its sounds as the engine of the app has them in hand, rendered without a browser. */
export interface SongInHand {
  readonly session: Session;
  readonly rough: Audio | null;
  readonly planOf: (session: Session) => { readonly plan: Plan; readonly sources: Sources };
  /** Another state of the session. */
  readonly rendered: (session: Session) => Promise<{ readonly plan: Plan; readonly paths: ReadonlyMap<string, Audio> }>;
  /** The session as it stands. */
  readonly plan: Plan;
  readonly paths: ReadonlyMap<string, Audio>;
  /** The groups as received. */
  readonly received: () => Promise<{ readonly paths: ReadonlyMap<string, Audio>; readonly soundFrames: number }>;
}

export const songFromDisk = async (path: string): Promise<SongInHand> => {
  const disk = await readSessionFromDisk(path, {
    onFile: () => {},
    check: () => {},
    warn: () => {},
    allowOutside: false,
    room: memoryRoom,
  });
  const { session } = disk;
  const sounds = pathsInMemory(disk.sounds);
  const rough = session.rough && sounds.get(session.rough.file);
  const byTrack = new Map(session.tracks.map(({ id, file }) => [id, sounds.get(file)!]));
  const sources = sourcesAt(session.sampleRate, session.tracks, byTrack);
  const planOf = (led: Session) => ({ plan: makePlan(led, factsOf(sources)), sources });
  const rendered = async (led: Session) => {
    const { plan } = planOf(led);
    const paths = await renderDirect(plan, sources);
    return { paths, plan: settledPlan(plan, paths) };
  };
  const received = async () => {
    const { plan, paths } = await rendered(asReceived(session));
    return { paths, soundFrames: plan.soundFrames };
  };
  return { session, rough: rough ?? null, planOf, rendered, received, ...(await rendered(session)) };
};

/** The first `frames` of a sound. */
export const cut = ({ sampleRate, channels }: Audio, frames: number): Audio => ({
  sampleRate,
  channels: channels.map((channel) => channel.subarray(0, frames)),
});
