import { placedSound, type Sound } from '../../audio/audio.ts';
import { placedSamples } from '../../audio/samples.ts';
import { cacheKey } from '../../render/executor.ts';
import type { NodeRef, Plan } from '../../render/plan/plan.ts';
import type { Session } from '../../session/schema.ts';
import type { Song } from '../song.ts';
import type { Rendered } from './outbox.ts';

/** The rendered sound of a track with a chain, at its time in the song. */
const stripSound = (song: Song, plan: Plan, id: string): Sound | null => {
  const strip = plan.strips.find((each) => each.id === id)!;
  const sound = song.strips.get(cacheKey(plan, strip));
  if (!sound) return null;
  const channels = [sound.left, sound.right].map((side) => placedSamples(side, -strip.latency, plan.frames));
  return { sampleRate: plan.sampleRate, channels };
};

/** A sound that feeds live strips, at its time in the song, latency removed; null: it is gone. */
export const liveSoundFor = (song: Song, session: Session, heard: Rendered, { kind, id }: NodeRef): Sound | null => {
  const { plan, paths } = heard;
  if (kind === 'strip') return paths.get(id) ?? stripSound(song, plan, id);
  const source = plan.sources.find((each) => each.id === id);
  const sound = song.planned(session).sources.get(id);
  return source && sound ? placedSound(sound, source.startFrame, plan.frames) : null;
};
