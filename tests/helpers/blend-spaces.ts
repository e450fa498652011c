import { originsOf } from '../../src/blend/guards/balance.ts';
import { guardedFigures } from '../../src/blend/guards/guard-references.ts';
import type { SolveHost } from '../../src/blend/solve/printed-mix.ts';
import { measureFully } from '../../src/measure/measure.ts';
import { blendGain, GuardedBlend, type SpacePath, type BlendSpace } from '../../src/blend/solve/blend-space.ts';
import type { GuardReference } from '../../src/blend/guards/guards.ts';
import { makeBlendQuery } from '../../src/blend/gram/make-blend-query.ts';
import { wholeOf, type Audio } from '../../src/audio/audio.ts';
import { guardSetByName, guardsInForce } from '../../src/session/guard-set.ts';
import type { GuardLimit } from '../../src/session/schema.ts';
import { sessionFrom } from './sessions.ts';
import { pinkNoise, sine, stereo } from './signals.ts';

/** A blend space of two groups (a low tone and unlike noise) and three buses: the tone driven, the noise wide, all of it. */
export interface SpaceParts {
  readonly guards?: readonly GuardLimit[];
  readonly trimDb?: number | null;
  /** Gains of bass, keys, drive, wide, both. */
  readonly gains?: readonly number[];
}

const SECONDS = 5;
const frames = 48_000 * SECONDS;

/** Louder and softer by half, every half second: so that there are peaks and a loudness range. */
const swelling = (samples: Float32Array): Float32Array =>
  samples.subarray(0, frames).map((x, n) => x * (0.6 + 0.4 * Math.sin((2 * Math.PI * n) / 40_000)));

const sounds = (): Record<string, Audio> => {
  const low = swelling(sine({ hz: 90, seconds: SECONDS, db: -12 }));
  const left = swelling(pinkNoise(SECONDS, 3, 0.05));
  const right = swelling(pinkNoise(SECONDS, 4, 0.05));
  const driven = low.map((x) => Math.tanh(6 * x) / 3);
  const wide = left.map((x, n) => x - right[n]!);
  return {
    bass: stereo(low),
    keys: stereo(
      left.map((x, n) => x + 0.5 * right[n]!),
      right.map((x, n) => x + 0.5 * left[n]!),
    ),
    drive: stereo(driven),
    wide: stereo(
      wide,
      wide.map((x) => -x),
    ),
    both: stereo(
      low.map((x, n) => Math.tanh(4 * (x + left[n]!)) / 3),
      low.map((x, n) => Math.tanh(4 * (x + right[n]!)) / 3),
    ),
  };
};

const session = sessionFrom({
  tracks: ['bass', 'keys'].map((id) => ({ id: `${id}-track`, name: id, file: `${id}.wav`, group: id })),
  groups: [
    { id: 'bass', name: 'Bass', sends: [{ to: 'drive' }, { to: 'both' }] },
    { id: 'keys', name: 'Keys', sends: [{ to: 'wide' }, { to: 'both' }] },
  ],
  buses: ['drive', 'wide', 'both'].map((id) => ({ id, name: id })),
});

const made = sounds();
const paths: readonly SpacePath[] = [...session.groups, ...session.buses].map(({ id, name }, n) => ({
  id,
  name,
  kind: n < 2 ? 'group' : 'bus',
  audio: made[id]!,
}));
const query = makeBlendQuery(paths);
const alone = new Map(
  query.ids.map((id, n) => [id, query.essentials(query.ids.map((_, k) => (k === n ? 1 : 0))).integratedLufs]),
);

/** The blend space with the default guards, its two groups at 0 dB as the mix as received. */
export const spaceWith = ({ guards = [], trimDb = 0, gains = [1, 1, 0.3, 0.2, 0.25] }: SpaceParts = {}): BlendSpace => {
  const space: BlendSpace = {
    paths,
    query,
    gains,
    trimDb,
    origins: originsOf(session, alone),
    guards: guardsInForce(guards, guardSetByName('default', 'test')),
    references: [],
  };
  const received = new GuardedBlend(space, [1, 1, 0, 0, 0]);
  const reference: GuardReference = {
    name: 'mix as received',
    integratedLufs: received.integratedLufs,
    loudnessRangeLu: received.loudnessRangeLu,
    stereo: received.stereo,
    bands: received.bands,
    truePeakDbtp: received.truePeakDbtp,
    lowsCorrelation: received.lowsCorrelation,
    groupShares: received.groupShares,
  };
  return { ...space, references: [reference] };
};

/** The sum of the blend space's paths at these gains, for measuring. */
export const sumOf = (gains: readonly number[]): Audio => ({
  sampleRate: 48_000,
  channels: [0, 1].map((c) => {
    const sum = new Float64Array(frames);
    paths.forEach(({ audio }, p) => {
      const channel = wholeOf(audio).channels[c]!;
      for (let n = 0; n < frames; n++) sum[n]! += gains[p]! * channel[n]!;
    });
    return Float32Array.from(sum);
  }),
});

/** Solves on the blend space as a mix without a chain after the sum: the print is the blend, trimmed. `shape` makes another print of it. */
export const hostOf = (space: BlendSpace, shape: (sum: Audio) => Audio = (sum) => sum): SolveHost => ({
  print: (blends) => {
    const gains = space.query.ids.map((id, n) => (blends.has(id) ? blendGain(blends.get(id)!) : space.gains[n]!));
    const led = { ...space, gains };
    const { figures, details } = measureFully(shape(sumOf(gains)));
    const shares = new GuardedBlend(led, gains).groupShares;
    return Promise.resolve({ space: led, figures, guarded: guardedFigures(figures, details, shares) });
  },
  pace: () => Promise.resolve(),
});
