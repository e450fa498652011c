/** One chord as each part holds it. Keys and pad in MIDI numbers; guitars in frets, low E string first, -1 not played. */
export interface Chord {
  readonly keys: readonly number[];
  readonly pad: readonly number[];
  readonly low: readonly number[];
  readonly high: readonly number[];
}

const chord = (keys: number[], pad: number[], low: number[], high: number[]): Chord => ({ keys, pad, low, high });
const x = -1;

const em9 = chord([55, 59, 62, 66], [52, 59, 66, 67], [0, 2, 2, 0, 3, 0], [x, x, 5, 4, 5, 3]);
const cMaj9 = chord([55, 59, 62, 64], [55, 60, 62, 71], [x, 3, 2, 0, 0, 0], [x, x, 9, 9, 8, 7]);
const gOverB = chord([55, 59, 62, 69], [55, 59, 62, 67], [x, 2, 0, 0, 3, 3], [x, x, 5, 4, 3, 3]);
const dSus = chord([57, 62, 64, 67], [57, 62, 67, 69], [x, x, 0, 2, 3, 3], [x, x, 7, 7, 8, 5]);
const d = chord([57, 62, 66], [57, 62, 66, 69], [x, x, 0, 2, 3, 2], [x, x, 7, 7, 7, 5]);
const am7 = chord([55, 60, 64, 67], [55, 60, 64, 67], [x, 0, 2, 0, 1, 0], [x, x, 5, 5, 5, 3]);
const bm7 = chord([57, 62, 66, 69], [57, 59, 66, 69], [x, 2, 4, 2, 3, 2], [x, x, 7, 7, 7, 5]);
const cMaj9Lift = chord([59, 62, 64, 67], [60, 62, 67, 71], [x, 3, 2, 0, 0, 0], [x, x, 9, 9, 8, 7]);
const d9Sus = chord([60, 64, 67, 69], [60, 64, 67, 69], [x, x, 0, 2, 1, 3], [x, x, 10, 9, 8, 8]);
const dOverFSharp = chord([57, 62, 66, 69], [57, 62, 66, 69], [2, 0, 0, 2, 3, 2], [x, x, 4, 2, 3, 2]);
const g = chord([59, 62, 67, 71], [59, 62, 67, 74], [3, 2, 0, 0, 3, 3], [x, x, 5, 4, 3, 3]);
const em7 = chord([59, 62, 64, 67], [59, 64, 67, 74], [0, 2, 2, 0, 3, 3], [x, x, 5, 4, 5, 3]);
const cAdd9 = chord([60, 62, 64, 67], [60, 64, 67, 74], [x, 3, 2, 0, 3, 3], [x, x, 5, 5, 5, 3]);
const gOverBHigh = chord([59, 62, 67, 71], [59, 62, 67, 74], [x, 2, 0, 0, 3, 3], [x, x, 9, 7, 8, 7]);
const cHigh = chord([60, 64, 67, 72], [60, 64, 67, 72], [x, 3, 2, 0, 1, 3], [x, x, 10, 9, 8, 8]);
const cMinor6 = chord([60, 63, 67, 69], [60, 63, 67, 69], [x, 3, 1, 2, 1, 3], [x, x, 10, 8, 8, 8]);
const gOverD = chord([59, 62, 67, 71], [59, 62, 67, 71], [x, x, 0, 0, 3, 3], [x, x, 9, 7, 8, 7]);
const gAdd9 = chord([59, 62, 67, 69], [59, 62, 69, 74], [3, x, 0, 2, 0, 3], [x, x, 5, 4, 3, 5]);

/** A chord from a beat of a bar on, until the next slot. */
export interface Slot {
  readonly bar: number;
  readonly beat: number;
  readonly chord: Chord;
}

const at = (bar: number, beat: number, chord: Chord): Slot => ({ bar, beat, chord });

/** Verse circles E minor, the lift climbs A-B-C-D, the chorus answers in G and darkens once through C minor. */
export const slots: readonly Slot[] = [
  at(0, 0, em9),
  at(1, 0, cMaj9),
  at(2, 0, gOverB),
  at(3, 0, dSus),
  at(3, 2, d),
  at(4, 0, am7),
  at(5, 0, bm7),
  at(6, 0, cMaj9Lift),
  at(7, 0, d9Sus),
  at(7, 2, dOverFSharp),
  at(8, 0, g),
  at(9, 0, dOverFSharp),
  at(10, 0, em7),
  at(11, 0, cAdd9),
  at(12, 0, gOverBHigh),
  at(13, 0, cHigh),
  at(13, 2, cMinor6),
  at(14, 0, gOverD),
  at(14, 2, d),
  at(15, 0, gAdd9),
];

/** The chord that sounds at a beat of a bar. */
export const chordAt = (bar: number, beat: number): Chord => {
  const slot = slots.findLast((s) => s.bar < bar || (s.bar === bar && s.beat <= beat));
  return (slot ?? slots[0]!).chord;
};
