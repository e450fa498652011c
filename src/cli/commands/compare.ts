import type { Command } from 'commander';
import { compareSounds, type Comparison } from '../../blend/trial/compare.ts';
import type { Audio } from '../../audio/audio.ts';
import { resample } from '../../audio/resample.ts';
import { readAudioFile } from '../../files/node/node-files.ts';
import { changeText, numberText } from '../../measure/definitions/figure-text.ts';
import type { SideMatch } from '../../measure/match/side-match.ts';
import type { Arrangement } from '../../measure/match/stereo-match.ts';
import { ProblemError } from '../../session/problem.ts';
import { levelled } from '../../measure/levelled.ts';
import type { Console } from '../console.ts';
import { figureTable } from '../tables.ts';

/** A sound prepared for comparison, with notes on what was converted. */
interface Prepared {
  readonly audio: Audio;
  readonly notes: readonly string[];
}

const read = async (file: string): Promise<Prepared> => {
  const audio = await readAudioFile(file);
  const { sampleRate, channels } = audio;
  if (channels.length > 2) {
    const found = `${channels.length}`;
    throw new ProblemError({ code: 'mismatch', path: file, expected: 'one or two channels to compare', found });
  }
  if (channels.length === 2) return { audio, notes: [] };
  const both = { sampleRate, channels: [channels[0]!, channels[0]!] };
  return { audio: both, notes: [`${file} has one channel and is compared as if both loudspeakers play it.`] };
};

const atRateOf = ({ audio: first }: Prepared, { audio, notes }: Prepared, file: string): Prepared => {
  if (first.sampleRate === audio.sampleRate) return { audio, notes };
  const note = `${file} (${audio.sampleRate} Hz) was converted to ${first.sampleRate} Hz.`;
  return { audio: resample(audio, first.sampleRate), notes: [...notes, note] };
};

/** A residual in words: its level below B. */
const below = (residualDb: number | null): string =>
  `${numberText(residualDb === null ? null : -residualDb, 1)} dB below B`;

const ARRANGED: Readonly<Record<Arrangement, string>> = {
  same: '',
  swapped: 'Left and right of B are swapped.',
  'folded to mono': 'B is the mono sum of A.',
  'left on both sides': "Both channels of B are A's left.",
  'right on both sides': "Both channels of B are A's right.",
  'left only': "B has A's left only.",
  'right only': "B has A's right only.",
  'left inverted': 'The left of B is inverted in polarity.',
  'right inverted': 'The right of B is inverted in polarity.',
  'swapped, left inverted': 'Left and right of B are swapped, and its left is inverted in polarity.',
  'swapped, right inverted': 'Left and right of B are swapped, and its right is inverted in polarity.',
};

/** Differences of lag and gain between the sides below which they count as equal. */
const [SAME_LAG, SAME_GAIN] = [0.05, 0.05];

const SOURCES = { left: "A's left", right: "A's right", mono: 'the mono sum of A' } as const;

const sideText = (name: string, side: SideMatch | null): string => {
  if (!side) return `its ${name} is silent`;
  const { from, polarity, exactLagSamples, gainDb, residualDb } = side;
  const turned = polarity === -1 ? ', polarity inverted' : '';
  return `its ${name} is ${SOURCES[from]}${turned}, ${numberText(exactLagSamples, 2)} samples late, at ${changeText(gainDb, 2)} dB, residual ${numberText(-residualDb, 1)} dB below it`;
};

/** The differences between the sides, and each side by itself. */
const sidesLine = ({ sides, sidesResidualDb }: Comparison, rate: number): string => {
  if (!sides) return '';
  const [left, right] = sides;
  const differences: string[] = [];
  if (left && right) {
    const late = right.exactLagSamples - left.exactLagSamples;
    const louder = right.gainDb - left.gainDb;
    if (Math.abs(late) >= SAME_LAG) {
      const [which, other] = late > 0 ? ['right', 'left'] : ['left', 'right'];
      const ms = numberText((1000 * Math.abs(late)) / rate, 2);
      differences.push(
        `The ${which} of B is ${numberText(Math.abs(late), 2)} samples (${ms} ms) later than its ${other}.`,
      );
    }
    if (Math.abs(louder) >= SAME_GAIN) {
      const [which, other] = louder < 0 ? ['right', 'left'] : ['left', 'right'];
      differences.push(
        `The ${which} of B is ${numberText(Math.abs(louder), 2)} dB softer than its ${other}, against A.`,
      );
    }
  }
  return [
    ...differences,
    `B side by side: ${sideText('left', left)}; ${sideText('right', right)}. With the sides matched separately the residual is ${below(sidesResidualDb)}.`,
  ].join(' ');
};

const alignmentLine = (comparison: Comparison, rate: number): string => {
  const { lagSamples, exactLagSamples, arrangement, gainDb, polarity, residualDb, arrangedResidualDb } = comparison;
  if (lagSamples === null)
    return 'The two have too little in common to align; they are compared from their beginnings.';
  const ms = numberText((1000 * lagSamples) / rate, 2);
  const exact = numberText(exactLagSamples, 2);
  const turned = polarity === -1 ? ', polarity inverted' : '';
  const lies = `B is ${lagSamples} samples late (${ms} ms; exactly ${exact})${turned}; its level against A is ${changeText(gainDb, 2)} dB. Residual (B less A so delayed and scaled): ${below(residualDb)}.`;
  const arranged =
    arrangement === null || arrangement === 'same'
      ? ''
      : `${ARRANGED[arrangement]} With the channels of A so arranged the residual is ${below(arrangedResidualDb)}.`;
  return [lies, arranged, sidesLine(comparison, rate)].filter((line) => line !== '').join('\n');
};

const readable = (comparison: Comparison, notes: readonly string[], rate: number): string => {
  const { a, b, change, matchGainDb } = comparison;
  const level =
    matchGainDb === null
      ? 'One of the two has no loudness: they are compared without matching.'
      : `Matched in loudness: B by ${changeText(matchGainDb, 2)} dB.`;
  return [
    `${[...notes, alignmentLine(comparison, rate), level].join('\n')}\n`,
    figureTable([
      { heading: 'A', figures: a, reasons: a.reasons },
      { heading: 'B', figures: b },
      { heading: 'B matched', figures: levelled(b, matchGainDb ?? 0) },
      { heading: 'change', figures: change, isChange: true },
    ]),
  ].join('\n');
};

const runCompare = async (fileA: string, fileB: string, json: boolean, console: Console): Promise<void> => {
  console.progress(`Reading ${fileA}`);
  const first = await read(fileA);
  console.progress(`Reading ${fileB}`);
  const second = atRateOf(first, await read(fileB), fileB);
  console.progress('Comparing');
  const comparison = compareSounds(first.audio, second.audio);
  const { sampleRate } = first.audio;
  if (comparison.frames === 0) {
    throw new ProblemError({ code: 'too-short', path: fileB, expected: 'sound to compare', found: 'none' });
  }
  const notes = [...first.notes, ...second.notes];
  const { frames, ...rest } = comparison;
  const answer = { ...rest, sampleRate, seconds: frames / sampleRate, notes };
  console.out(json ? `${JSON.stringify(answer, null, 2)}\n` : readable(comparison, notes, sampleRate));
};

export const addCompare = (program: Command, console: Console): void => {
  program
    .command('compare')
    .description('Compares two files, aligned and matched in loudness: every change from A to B.')
    .argument('<a>', 'a WAV, AIFF, CAF, FLAC, MP3, Ogg Vorbis or Opus file')
    .argument('<b>', 'another one; its rate, length and level may differ')
    .option('--json', 'one JSON document')
    .action((a: string, b: string, { json }: { json?: true }) => runCompare(a, b, json === true, console));
};
