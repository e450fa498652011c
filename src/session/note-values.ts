import type { Session } from './schema.ts';

/** A length in music. `count` notes of 1/`note`, or `count` bars. */
export type NoteValue =
  | { readonly kind: 'note'; readonly count: number; readonly note: number; readonly feel: Feel }
  | { readonly kind: 'bars'; readonly count: number };

/** dotted is half as long again, triplet is three in the time of two. */
export type Feel = 'straight' | 'dotted' | 'triplet';

const LENGTH: Readonly<Record<Feel, number>> = { straight: 1, dotted: 3 / 2, triplet: 2 / 3 };

/** Note values for menus, short to long. */
export const COMMON_NOTE_VALUES: readonly string[] = [
  '1/32',
  '1/16 triplet',
  '1/16',
  '1/8 triplet',
  '1/16 dotted',
  '1/8',
  '1/4 triplet',
  '1/8 dotted',
  '1/4',
  '1/4 dotted',
  '1/2',
  '1 bar',
];

const NOTE = /^([1-9]\d?)\/(1|2|4|8|16|32|64)(?: (dotted|triplet))?$/;
const BARS = /^([1-9]\d?) bars?$/;

/** Reads "1/8", "1/8 dotted", "3/16", "1 bar"; capitals and spare blanks do not matter. null: not a note value. */
export const parseNoteValue = (text: string): NoteValue | null => {
  const plain = text.trim().toLowerCase().replace(/\s+/g, ' ');
  const bars = BARS.exec(plain);
  if (bars) return { kind: 'bars', count: Number(bars[1]) };
  const note = NOTE.exec(plain);
  if (!note) return null;
  return { kind: 'note', count: Number(note[1]), note: Number(note[2]), feel: (note[3] ?? 'straight') as Feel };
};

/**
 * Length of a note value, ms (a fraction of a ms is kept: 1/8 at 140 is 214.2857). The tempo counts quarter notes a
 * minute whatever the meter; a bar of 6/8 is six eighths.
 */
export const noteMs = (value: NoteValue, tempo: number, meter: Session['meter']): number => {
  const quarterMs = 60_000 / tempo;
  if (value.kind === 'bars') return (quarterMs * value.count * meter[0] * 4) / meter[1];
  return ((quarterMs * value.count * 4) / value.note) * LENGTH[value.feel];
};
