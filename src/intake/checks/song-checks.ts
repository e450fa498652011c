import type { FileFacts } from '../../files/decode/file-facts.ts';
import { changeText } from '../../measure/definitions/figure-text.ts';
import { inARow } from '../../session/problem.ts';
import { median } from '../rough/median.ts';
import type { TrackInRough } from '../rough/track-in-rough.ts';
import type { PairLikeness } from './pair-checks.ts';
import { warning, type Warning } from './warning.ts';

/** What is known of a track beside its sound. */
export interface ReceivedFacts {
  readonly file: string;
  readonly group: string | null;
  /** The two sides of one sound are not told to be alike. */
  readonly pair: number | null;
  readonly sampleRate: number;
  readonly frames: number;
  readonly facts: FileFacts;
  readonly isSilent: boolean;
}

/** The value that most have; of two such, the higher. */
const usual = (values: readonly number[]): number => {
  const count = (value: number): number => values.filter((other) => other === value).length;
  return values.toSorted((a, b) => count(b) - count(a) || b - a)[0]!;
};

/** At least this part of the files agrees before one that does not is told. */
const MOST = 0.6;

const agree = <T>(values: readonly T[], value: T): boolean =>
  values.filter((each) => each === value).length >= MOST * values.length;

/** Rate and depth of each file against the rest, and how it was coded. */
export const formatChecks = (files: readonly ReceivedFacts[]): Warning[][] => {
  const rates = files.map(({ sampleRate }) => sampleRate);
  const rate = usual(rates);
  const depths = files.flatMap(({ facts }) => (facts.bits === null ? [] : [facts.bits]));
  const depth = depths.length === 0 ? null : usual(depths);
  return files.map(({ sampleRate, facts }) => [
    ...(sampleRate === rate
      ? []
      : [
          warning(
            'sample-rate',
            `Its rate is ${sampleRate} Hz; most others have ${rate} Hz.`,
            `It is converted to ${rate} Hz; check that it does not play at a wrong speed.`,
            { kind: 'resample', sampleRate: rate },
            true,
            { figure: 'rate', before: `${sampleRate} Hz`, after: `${rate} Hz` },
          ),
        ]),
    ...(facts.bits === null || depth === null || facts.bits >= depth || !agree(depths, depth)
      ? []
      : [
          warning(
            'bit-depth',
            `It has ${facts.bits} bits; most others have ${depth}.`,
            'Ask for it at the depth of the others, if it was recorded so.',
          ),
        ]),
    ...(facts.isLossy
      ? [
          warning(
            'lossy',
            'It is coded with loss (MP3, Vorbis or Opus).',
            'Ask for the track as WAV, AIFF or FLAC from the session.',
          ),
        ]
      : []),
  ]);
};

/** Lengths that differ by less than this are one, seconds. */
const SAME_LENGTH = 0.05;

/** The length of each file against the rest, where most have one and the same. */
export const lengthChecks = (files: readonly ReceivedFacts[]): Warning[][] => {
  const seconds = files.map(({ frames, sampleRate }) => frames / sampleRate);
  const middle = median(seconds);
  const alike = seconds.filter((each) => Math.abs(each - middle) < SAME_LENGTH).length;
  return seconds.map((own) => {
    if (files.length < 3 || alike < MOST * files.length || Math.abs(own - middle) < SAME_LENGTH) return [];
    const by = Math.abs(own - middle);
    const amount = by < 1 ? `${(1000 * by).toFixed(0)} ms` : `${by.toFixed(2)} s`;
    return [
      warning(
        'length',
        `It is ${amount} ${own > middle ? 'longer' : 'shorter'} than the others, which have ${middle.toFixed(2)} s.`,
        'Check that it starts where the others do and is whole.',
      ),
    ];
  });
};

/**
 * Where each file starts, seconds after the first of them.
 * @param starts by their time references, seconds since midnight; null where a file has none: then nothing is told
 */
export const offsetsOf = (starts: readonly (number | null)[]): readonly number[] | null => {
  if (starts.length === 0 || starts.includes(null)) return null;
  const first = Math.min(...(starts as number[]));
  const offsets = (starts as number[]).map((start) => start - first);
  // Differences of hours are clocks that were never set.
  return Math.max(...offsets) < 3600 ? offsets : null;
};

const startsOf = (files: readonly ReceivedFacts[]): readonly number[] | null =>
  offsetsOf(
    files.map(({ facts, sampleRate }) => (facts.timeReference === null ? null : facts.timeReference / sampleRate)),
  );

export const startChecks = (files: readonly ReceivedFacts[]): Warning[][] => {
  const starts = startsOf(files);
  return files.map((_, n) => {
    const start = starts?.[n] ?? 0;
    if (start === 0) return [];
    const message = `It says that it starts ${start.toFixed(3)} s after the first of the files, and is placed there.`;
    return [
      warning(
        'start-offset',
        message,
        'Check that it stands right in the song.',
        { kind: 'offset', seconds: start },
        true,
      ),
    ];
  });
};

/** Tracks this alike are one: all bands, any lag and sign. Two takes of one part stay far below. */
const IDENTICAL = 0.9;
/** Tracks of a group that are this alike with inverted polarity, and clearly no other way, have one of them inverted. */
const [OPPOSITE, DOUBTFUL] = [0.3, 0.75];
/** Microphones of one source stand no further apart than this, samples at 48 kHz (1 ms). */
const NEAR = 48;

const nameOf = (file: string): string => file.slice(file.lastIndexOf('/') + 1);

/** Identical files, and files of inverted polarity against their group. */
export const pairChecks = (files: readonly ReceivedFacts[], pairs: PairLikeness): Warning[][] => {
  const out = files.map((): Warning[] => []);
  const votes = files.map((): { readonly file: string; readonly shared: number }[] => []);
  const twins = files.map((): { readonly file: string; readonly how: string }[] => []);
  files.forEach((second, j) => {
    files.slice(0, j).forEach((first, i) => {
      const isPair = first.pair !== null && first.pair === second.pair;
      if (first.isSilent || second.isSilent || isPair) return;
      const found = pairs.likeness(i, j);
      if (!found) return;
      const { shared, samples, against } = found;
      if (Math.abs(shared) > IDENTICAL) {
        const turned = shared < 0 ? ', with inverted polarity' : '';
        const moved = samples === 0 ? '' : `, ${Math.abs(samples)} samples ${samples > 0 ? 'late' : 'early'}`;
        twins[j]!.push({ file: first.file, how: `${turned}${moved}` });
        return;
      }
      const isTogether = first.group !== null && first.group === second.group && Math.abs(samples) <= NEAR;
      if (isTogether && shared < -OPPOSITE && against < DOUBTFUL * -shared) {
        votes[i]!.push({ file: second.file, shared });
        votes[j]!.push({ file: first.file, shared });
      }
    });
  });
  twins.forEach((found, j) => {
    const [twin] = found;
    if (!twin) return;
    const message = `It is the same as ${nameOf(twin.file)} or nearly so${twin.how}.`;
    out[j]!.push(
      warning('identical', message, 'Leave one of the two out, or ask which is meant.', { kind: 'leave out' }),
    );
  });
  votes.forEach((against, n) => {
    // Of two that oppose each other the one with more against it is told; of equals, the later.
    const isTold = against.some(({ file }) => {
      const other = files.findIndex((each) => each.file === file);
      return votes[other]!.length < against.length || (votes[other]!.length === against.length && other < n);
    });
    if (!isTold) return;
    const message = `Its polarity is inverted relative to ${inARow(against.map(({ file }) => nameOf(file)))}: together they cancel.`;
    const most = against.reduce((a, b) => (b.shared < a.shared ? b : a));
    out[n]!.push(
      warning(
        'polarity',
        message,
        'Invert its polarity, and listen to both together.',
        { kind: 'polarity' },
        false,
        // Inverting one of two sounds changes the sign of their correlation and nothing else.
        {
          figure: `correlation with ${nameOf(most.file)}`,
          before: changeText(most.shared, 2),
          after: changeText(-most.shared, 2),
        },
      ),
    );
  });
  return out;
};

/** The warning for a track whose polarity is inverted in the file. */
export const invertedInRough = (): Warning =>
  warning(
    'polarity',
    'Its polarity is inverted relative to the rough.',
    'Invert its polarity.',
    { kind: 'polarity' },
    true,
  );

/** What the rough tells of each track: swapped, of inverted polarity, or moved. */
export const roughChecks = (
  tracks: readonly Pick<TrackInRough, 'polarity' | 'shiftSamples' | 'isInRough' | 'isSwapped'>[],
  sampleRate: number,
): Warning[][] =>
  tracks.map(({ polarity, shiftSamples, isInRough, isSwapped }) => [
    ...(isInRough && isSwapped
      ? [
          warning(
            'channels-swapped',
            'Its channels are swapped against the rough: what is left in the file is right there.',
            'Swap its channels.',
            { kind: 'channels', mode: 'swap' },
            true,
          ),
        ]
      : []),
    ...(isInRough && polarity < 0 ? [invertedInRough()] : []),
    ...(isInRough && shiftSamples !== 0
      ? [
          warning(
            'shifted',
            `It is ${Math.abs(shiftSamples)} samples (${((1000 * Math.abs(shiftSamples)) / sampleRate).toFixed(2)} ms) ${shiftSamples < 0 ? 'later' : 'earlier'} than it is in the rough.`,
            'Move it to where the rough has it.',
            { kind: 'offset', seconds: shiftSamples / sampleRate },
            true,
            { figure: 'against the rough', before: `${Math.abs(shiftSamples)} samples`, after: '0 samples' },
          ),
        ]
      : []),
  ]);
