import { numberText } from '../../measure/definitions/figure-text.ts';
import { passOf } from '../../session/passes/passes.ts';
import { roughWords } from '../../session/rough-source.ts';
import type { Session } from '../../session/schema.ts';
import { FORM_NAMES } from './file-form.ts';
import { ceilingOf, type LevelAim } from './print-level.ts';
import type { PrintOrder } from './print-order.ts';
import { isMix, type PrintPart } from './print-parts.ts';

// What is to be known of printed files, one sentence each.

/** Where the files begin, and what of the song is in them. */
export const scopeNotes = (
  session: Session,
  { pass, span, headSeconds = 0, tailSeconds = 0 }: PrintOrder,
): string[] => [
  ...(pass ? [`Printed is the pass "${passOf(session, pass).name}".`] : []),
  ...(span
    ? [
        `All files hold "${span.name}": the song from ${numberText(span.startSeconds, 3)} s to ${numberText(span.endSeconds, 3)} s, cut to the sample without fades.`,
      ]
    : []),
  ...(headSeconds > 0
    ? [
        `All files begin with ${numberText(headSeconds, 2)} s of silence; time references count from such a silence before the song.`,
      ]
    : []),
  ...(tailSeconds > 0 ? [`All files end with ${numberText(tailSeconds, 2)} s of silence.`] : []),
];

/** Where the form of the files has no place for what a broadcast WAV file tells. */
export const formNotes = ({ form = 'wav' }: PrintOrder): string[] =>
  form === 'aiff'
    ? [`${FORM_NAMES.aiff} has no place for loudness and for where a file begins in the song: the manifest tells both.`]
    : [];

/** For whoever sums the stems: the trim and the gain of the mix. */
export const stemNote = (trimDb: number, gainDb: number | null): string => {
  const trim = trimDb === 0 ? '' : ` and its trim of ${numberText(trimDb, 1)} dB`;
  const gain = gainDb === null ? '' : `, with the gain of the main print (${numberText(gainDb, 2)} dB) on each`;
  return `The stems are at the level of the mix before the mix bus${trim}${gain}.`;
};

/**
 * Of stems that went through the mix bus one by one.
 * @param differenceDb energy of what their sum lacks to the mix, to that of the mix, dB; null: they are not all there
 */
export const throughNote = (differenceDb: number | null): string => {
  const each = 'Each stem went through the mix bus by itself';
  if (differenceDb === null) return `${each}; not all are printed, so they do not add up to the mix.`;
  const sum =
    differenceDb === -Infinity
      ? 'their sum is the mix.'
      : `their sum differs from the mix by ${numberText(differenceDb, 1)} dB (energy of the difference to that of the mix).`;
  return `${each}: ${sum}`;
};

export const tailNote = (seconds: number): string =>
  `A tail sounds on for more than ${seconds} s after the song; the prints fade out there.`;

/** On samples limited to full scale: the figures, measured from the file, do not show by how much they were over. */
export const limitNote = (name: string, samples: number): string =>
  `${samples} ${samples === 1 ? 'sample' : 'samples'} of ${name} lay beyond full scale and ${samples === 1 ? 'was' : 'were'} limited to it; print as 32 bit float (32f), or lower the level.`;

/** On a file that takes the gain of the mix, and with it more than the ceiling that the mix is held to. */
export const ceilingNotes = (name: string, truePeakDbtp: number | null, aim: LevelAim): string[] => {
  const ceiling = ceilingOf(aim);
  if (ceiling === null || truePeakDbtp === null || truePeakDbtp <= ceiling) return [];
  return [
    `${name} takes the gain of the mix and reaches ${truePeakDbtp.toFixed(2)} dBTP, above the ceiling of ${ceiling} dBTP, which the mix is held to.`,
  ];
};

/** On the rough where buses contain it: what a variant leaves out or a stem holds apart is in there too. */
export const roughNotes = (session: Session, parts: readonly PrintPart[]): string[] => {
  const words = roughWords(session);
  if (words === null) return [];
  const apart = parts.some(({ kind }) => kind !== 'main');
  return [`${words}${apart ? ' So do the instrumental, the a cappella and the stems of these buses.' : ''}`];
};

/** Loudness that a copy must lose before it is said. */
const SOFTER_LU = 0.1;

/** On a copy that its encoder made softer, as it does to noise: it cuts the highest frequencies and leaves out what it takes for masked. */
export const copyNotes = (name: string, changeLu: number | null): string[] =>
  changeLu === null || Math.abs(changeLu) < SOFTER_LU
    ? []
    : [
        `${name} measures ${numberText(Math.abs(changeLu), 2)} LU ${changeLu < 0 ? 'softer' : 'louder'} than what it is a copy of: its encoder cuts the highest frequencies, which counts most in noise.`,
      ];

/** Whether any of these parts is of the mix. */
export const anyMix = (parts: readonly PrintPart[]): boolean => parts.some(isMix);
