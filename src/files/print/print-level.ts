import { gainOf } from '../../audio/decibels.ts';
import type { Sound } from '../../audio/audio.ts';
import type { Samples } from '../../audio/samples.ts';
import type { Figures } from '../../measure/figures.ts';
import { ProblemError } from '../../session/problem.ts';

/** Loudness target and true-peak ceiling of a print; null: not asked for. */
export interface LevelAim {
  readonly targetLufs: number | null;
  readonly ceilingDbtp: number | null;
}

/** Gain of a print, and whether its target is met. */
export interface LevelPlan {
  /** Applied to the whole print, dB. */
  readonly gainDb: number;
  /** The change of level, in one sentence. */
  readonly note: string;
  /** The target is met, or none was asked for. */
  readonly met: boolean;
}

/** Ceiling where a target is asked for and no ceiling, dBTP: common practice for delivery. */
export const USUAL_CEILING_DBTP = -1;

/** The true-peak ceiling that a mix is held to, dBTP; null: none. */
export const ceilingOf = ({ targetLufs, ceilingDbtp }: LevelAim): number | null =>
  ceilingDbtp ?? (targetLufs === null ? null : USUAL_CEILING_DBTP);

/** Margin for the dither of 16 bit words, dB: 1.5 LSB at half scale is 0.0008 dB. */
const DITHER_ROOM_DB = 0.001;

const db = (value: number): string => `${Math.abs(value).toFixed(2)} dB`;
const moved = (gainDb: number): string => `${gainDb < 0 ? 'lowered' : 'raised'} by ${db(gainDb)}`;

/**
 * The gain that brings a mix with these figures to the target, or as near as the ceiling allows: gain only, never
 * limiting or clipping. `targetName`: the target's name in messages.
 * @throws ProblemError if there is a target and the mix has no loudness
 */
export const planLevel = (
  { integratedLufs, truePeakDbtp }: Pick<Figures, 'integratedLufs' | 'truePeakDbtp'>,
  { targetLufs, ceilingDbtp }: LevelAim,
  targetName: string,
): LevelPlan => {
  if (targetLufs !== null && integratedLufs === null) {
    const expected = 'a mix with a loudness that can be measured';
    throw new ProblemError({ code: 'mismatch', path: targetName, expected, found: 'a silent or too short one' });
  }
  const ceiling = ceilingOf({ targetLufs, ceilingDbtp });
  const wanted = targetLufs === null ? 0 : targetLufs - integratedLufs!;
  const room = ceiling === null || truePeakDbtp === null ? Infinity : ceiling - truePeakDbtp - DITHER_ROOM_DB;
  const gainDb = Math.min(wanted, room);
  if (targetLufs === null) {
    if (gainDb === 0) return { gainDb, met: true, note: 'The level of the mix was not changed.' };
    return {
      gainDb,
      met: true,
      note: `The level of the mix was ${moved(gainDb)} to keep the ceiling of ${ceiling} dBTP.`,
    };
  }
  if (gainDb === wanted)
    return { gainDb, met: true, note: `The level of the mix was ${moved(gainDb)} to ${targetLufs} LUFS.` };
  const reached = (integratedLufs! + gainDb).toFixed(2);
  const note = `The level of the mix was ${moved(gainDb)} to ${reached} LUFS, short of the target of ${targetLufs} LUFS: more would cross the ceiling of ${ceiling} dBTP. To meet both, a limiter would have to lower peaks by ${db(wanted - gainDb)} after that; none was added.`;
  return { gainDb, note, met: false };
};

/** Samples times a gain, computed as they are read. */
class GainedSamples implements Samples {
  readonly length: number;

  constructor(
    private readonly base: Samples,
    private readonly gain: number,
  ) {
    this.length = base.length;
  }

  subarray(from: number, to: number): Float32Array {
    return this.base.subarray(from, to).map((x) => x * this.gain);
  }
}

/** Sound with a gain, dB; 0 leaves it untouched. */
export const withGain = (sound: Sound, gainDb: number): Sound => {
  if (gainDb === 0) return sound;
  const gain = gainOf(gainDb);
  const channels = sound.channels.map((channel) => new GainedSamples(channel, gain));
  return { sampleRate: sound.sampleRate, channels };
};
