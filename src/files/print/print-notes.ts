import { numberText } from '../../measure/definitions/figure-text.ts';
import { passOf } from '../../session/passes/passes.ts';
import { roughWords } from '../../session/rough-source.ts';
import type { Session } from '../../session/schema.ts';
import { FORM_NAMES } from './file-form.ts';
import { ceilingOf, type LevelAim } from './print-level.ts';
import type { PrintOrder } from './print-order.ts';
import { isMix, type PrintPart } from './print-parts.ts';

// Notes on printed files, one sentence each.

/** The part of the song in the files, and their silence. */
export const scopeNotes = (
  session: Session,
  { pass, span, headSeconds = 0, tailSeconds = 0 }: PrintOrder,
): string[] => [
  ...(pass ? [`The pass "${passOf(session, pass).name}" was printed, not the mix as it stands.`] : []),
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

/** A note where the format cannot store the metadata of a broadcast WAV file. */
export const formNotes = ({ form = 'wav' }: PrintOrder): string[] =>
  form === 'aiff'
    ? [`${FORM_NAMES.aiff} cannot store loudness and the start of a file in the song: both are in the manifest.`]
    : [];

/** A note for summing the stems: the trim and the gain of the mix. */
export const stemNote = (trimDb: number, gainDb: number | null): string => {
  const trim = trimDb === 0 ? '' : ` and its trim of ${numberText(trimDb, 1)} dB`;
  const gain = gainDb === null ? '' : `, with the gain of the main print (${numberText(gainDb, 2)} dB) on each`;
  return `The stems are at the level of the mix before the mix bus${trim}${gain}.`;
};

/**
 * A note on stems that went through the mix bus one by one.
 * @param differenceDb energy of (mix less the sum of stems) relative to that of the mix, dB; null: not all stems are printed
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
  `A tail lasts more than ${seconds} s beyond the end of the song; the prints fade out there.`;

/** A note on clipped samples: the figures, measured from the file, do not show by how much they exceeded full scale. */
export const limitNote = (name: string, samples: number): string =>
  `${samples} ${samples === 1 ? 'sample' : 'samples'} of ${name} exceeded full scale and ${samples === 1 ? 'was' : 'were'} clipped; print as 32 bit float (32f), or lower the level.`;

/** A note on a file that gets the gain of the mix and then exceeds its ceiling. */
export const ceilingNotes = (name: string, truePeakDbtp: number | null, aim: LevelAim): string[] => {
  const ceiling = ceilingOf(aim);
  if (ceiling === null || truePeakDbtp === null || truePeakDbtp <= ceiling) return [];
  return [
    `${name} takes the gain of the mix and reaches ${truePeakDbtp.toFixed(2)} dBTP, above the ceiling of ${ceiling} dBTP, which the mix is held to.`,
  ];
};

/** A note on buses that contain the rough: variants and stems then contain all of its parts. */
export const roughNotes = (session: Session, parts: readonly PrintPart[]): string[] => {
  const words = roughWords(session);
  if (words === null) return [];
  const apart = parts.some(({ kind }) => kind !== 'main');
  return [`${words}${apart ? ' So do the instrumental, the a cappella and the stems of these buses.' : ''}`];
};

/** Change of loudness of a copy from which a note is given, LU. */
const SOFTER_LU = 0.1;

/** A note on a copy whose encoder changed its loudness, as with noise: encoders cut the highest frequencies and drop masked parts. */
export const copyNotes = (name: string, changeLu: number | null): string[] =>
  changeLu === null || Math.abs(changeLu) < SOFTER_LU
    ? []
    : [
        `${name} measures ${numberText(Math.abs(changeLu), 2)} LU ${changeLu < 0 ? 'softer' : 'louder'} than its original: its encoder cuts the highest frequencies, which counts most in noise.`,
      ];

/** Whether any of these parts comes after the mix bus. */
export const anyMix = (parts: readonly PrintPart[]): boolean => parts.some(isMix);
