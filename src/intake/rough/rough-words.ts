import { clock } from '../../audio/clock.ts';
import { inARow } from '../../session/problem.ts';
import type { RoughExplained } from './explain-rough.ts';

/** "1:04", "0:41.5". */
const clockOf = (seconds: number): string => {
  const nearest = Math.round(10 * seconds) / 10;
  return clock(nearest, !Number.isInteger(nearest));
};

const hertz = (hz: number): string =>
  hz >= 1000 ? `${Number((hz / 1000).toPrecision(2))} kHz` : `${Number(hz.toPrecision(2))} Hz`;
const signed = (db: number): string => `${db < 0 ? '−' : '+'}${Math.abs(db).toFixed(1)} dB`;

/** A response moves the sound where it leaves 0 dB by this. */
const HEARD_DB = 0.6;

/** Stretches of bands that are raised or lowered, in words: "+2.1 dB above 6 kHz". */
export const responseWords = (response: RoughExplained['response']): string[] => {
  const told = response.filter((band): band is { hz: number; gainDb: number } => band.gainDb !== null);
  const runs: { hz: number; gainDb: number }[][] = [];
  told.forEach((band, n) => {
    if (Math.abs(band.gainDb) < HEARD_DB) return;
    const before = told[n - 1];
    const goesOn = before && Math.abs(before.gainDb) >= HEARD_DB && Math.sign(before.gainDb) === Math.sign(band.gainDb);
    if (goesOn) runs.at(-1)!.push(band);
    else runs.push([band]);
  });
  return runs.map((run) => {
    const peak = run.reduce((most, each) => (Math.abs(each.gainDb) > Math.abs(most.gainDb) ? each : most));
    const [first, last] = [run[0]!, run.at(-1)!];
    // Half of the greatest gain is where a shelf is said to begin.
    const half = run.filter(({ gainDb }) => Math.abs(gainDb) >= Math.abs(peak.gainDb) / 2);
    if (last === told.at(-1)) return `${signed(last.gainDb)} above ${hertz(half[0]!.hz)}`;
    if (first === told[0]) return `${signed(first.gainDb)} below ${hertz(half.at(-1)!.hz)}`;
    return `${signed(peak.gainDb)} around ${hertz(peak.hz)}`;
  });
};

/** A common gain that moves less than this is none, dB. */
const STILL_DB = 0.8;
/** Less than this beside the rough is as good as nothing, dB. */
const NOTHING_DB = -45;

/** Half the width of the interval in which the lag lies in 95 of 100 cases; nothing where that is less than is told. */
const lagErrorWords = (lagError: number | null, unit = ''): string =>
  lagError === null || lagError < 0.0025 ? '' : ` (± ${(1.96 * lagError).toFixed(2)}${unit})`;

const lagWords = ({ lagSamples, lagError, driftPpm, polarity, stretches }: RoughExplained): string[] => {
  if (lagSamples === null) return [];
  const lag =
    lagSamples === 0
      ? `starts where the tracks do${lagErrorWords(lagError, ' samples')}`
      : `is ${Math.abs(lagSamples)}${lagErrorWords(lagError)} samples ${lagSamples > 0 ? 'late' : 'early'}`;
  const drift =
    driftPpm === 0 ? '' : ` and runs ${Math.abs(driftPpm)} parts in a million ${driftPpm > 0 ? 'slower' : 'faster'}`;
  const turned = polarity < 0 ? '; its polarity is inverted' : '';
  const cuts = stretches.slice(1).map((stretch, n) => {
    const before = stretches[n]!;
    const by = stretch.lagSeconds - before.lagSeconds;
    const what = by < 0 ? `${Math.abs(by).toFixed(2)} s were cut out` : `${by.toFixed(2)} s were put in`;
    return `At ${clockOf(before.endSeconds)} of the song the rough was cut: ${what}.`;
  });
  return [`The rough ${lag}${drift}${turned}.`, ...cuts];
};

/**
 * What the rough is, in plain sentences with figures.
 * @param names of the tracks, in their order
 */
export const roughSentences = (explained: RoughExplained, names: readonly string[]): string[] => {
  const { tracks, response, movementDb, residualDb, leftDb, leftover } = explained;
  if (explained.lagSamples === null) {
    const left = leftDb > 0 ? `${leftDb.toFixed(1)} dB louder than it` : `${(-leftDb).toFixed(1)} dB below it`;
    return [
      leftDb === 0
        ? 'The rough shares too little with the tracks to be explained by them: it is another song, or another version.'
        : `The tracks do not explain the rough: what is left lies ${left}. It may be cut or edited, or be another version; no levels are told.`,
    ];
  }
  const through = [
    ...responseWords(response),
    ...(movementDb > STILL_DB
      ? [`a level that moves by ${movementDb.toFixed(1)} dB over time, as under a compressor or limiter`]
      : []),
  ];
  const plus = through.length > 0 ? `, plus ${inARow(through)}` : '';
  const left =
    leftDb < NOTHING_DB ? 'nothing that is heard is left' : `what is left lies ${(-leftDb).toFixed(1)} dB below it`;
  const alone = through.length > 0 ? ` (${(-residualDb).toFixed(1)} dB with the levels alone)` : '';
  const absent = names.filter((_, n) => !tracks[n]!.isInRough);
  const twins = names.filter((_, n) => tracks[n]!.twins.length > 0);
  const moving = names.filter((_, n) => tracks[n]!.levels.length > 1);
  const doubtful = names.filter((_, n) => tracks[n]!.gainDb !== null && tracks[n]!.confidence < 0.5);
  const are = (list: readonly string[]): string => (list.length === 1 ? 'is' : 'are');
  return [
    ...lagWords(explained),
    ...(explained.isMono
      ? ['The rough is mono: it tells levels, and no places; every track is put in the middle.']
      : []),
    `It is these tracks at these levels${plus}; ${left}${alone}.`,
    ...(absent.length > 0 ? [`${inARow(absent)} ${are(absent)} not in it.`] : []),
    ...(twins.length > 0 ? [`${inARow(twins)} cannot be told apart: only their level together is known.`] : []),
    ...(moving.length > 0 ? [`The level of ${inARow(moving)} moves over the song.`] : []),
    ...(doubtful.length > 0 ? [`The level of ${inARow(doubtful)} is not sure to half a dB.`] : []),
    ...(leftover.owner
      ? [
          `Most of what is left comes and goes with ${names[leftover.owner.track]!}, ${(-leftover.owner.levelDb).toFixed(0)} dB below it: an effect on it, or another sound of it, that the levels do not explain.`,
        ]
      : []),
    ...leftover.strangers.map(
      ({ startSeconds, endSeconds, hz, levelDb }) =>
        `Something around ${hertz(hz)} from ${clockOf(startSeconds)} to ${clockOf(endSeconds)}, ${(-levelDb).toFixed(0)} dB below the mix, is in no track.`,
    ),
  ];
};
