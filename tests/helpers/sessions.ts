import type { Audio } from '../../src/audio/audio.ts';
import { makePlan } from '../../src/render/plan/make-plan.ts';
import type { Plan } from '../../src/render/plan/plan.ts';
import { factsOf, processorSounds, soundsAt, sourcesAt, type Sources } from '../../src/render/plan/sources.ts';
import { sessionSchema, type Session } from '../../src/session/schema.ts';

/** A valid session from the parts that matter to a test; ids double as names. */
export const sessionFrom = (parts: Record<string, unknown>): Session =>
  sessionSchema.parse({
    format: 'tributary-session',
    version: 4,
    title: 'Test',
    sampleRate: 48_000,
    tracks: [{ id: 'take', name: 'take', file: 'take.wav', group: 'band' }],
    groups: [{ id: 'band', name: 'band' }],
    ...parts,
  });

/** Plan and sources of a session whose tracks sound as given, by track id; `chainSounds` are what processors work with, by file. */
export const planned = (
  session: Session,
  sounds: Readonly<Record<string, Audio>>,
  chainSounds: Readonly<Record<string, Audio>> = {},
): { plan: Plan; sources: Sources } => {
  const sources = sourcesAt(session.sampleRate, session.tracks, new Map(Object.entries(sounds)));
  const others = processorSounds(soundsAt(session.sampleRate, new Map(Object.entries(chainSounds))));
  return { plan: makePlan(session, factsOf(sources), others), sources };
};
