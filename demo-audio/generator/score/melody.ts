/** One sung syllable: its vowel begins on the beat, the consonants before it lead in. */
export interface Syllable {
  readonly bar: number;
  readonly beat: number;
  readonly beats: number;
  readonly midi: number;
  /** Sounds in order, by the letters of `phones`. */
  readonly sounds: string;
  readonly velocity: number;
}

type Sung = readonly [beat: number, beats: number, midi: number, sounds: string, velocity: number];

/** G3 55, A3 57, B3 59, C4 60, D4 62, E4 64, F#4 66, G4 67, A4 69, B4 71, D5 74, Eb5 75, E5 76. */
const lines: Readonly<Record<number, readonly Sung[]>> = {
  // Two lanterns upstream, and the water is slow;
  0: [
    [1, 0.5, 64, 't oo', 0.6],
    [1.5, 0.5, 62, 'l ae n', 0.6],
    [2, 1, 59, 't er n z', 0.62],
    [3, 0.5, 62, 'ah p', 0.6],
    [3.5, 1.75, 64, 's t r ee m', 0.68],
  ],
  1: [
    [2, 0.5, 62, 'ae n', 0.52],
    [2.5, 0.25, 64, 'dh ah', 0.52],
    [2.75, 0.75, 67, 'w aw', 0.7],
    [3.5, 0.5, 64, 't er', 0.58],
  ],
  2: [
    [0, 0.5, 62, 'ih z', 0.56],
    [0.5, 0.75, 62, 's l aw', 0.64],
    [1.25, 1.25, 59, 'aw uh', 0.54],
    [3, 0.5, 59, 'aa ih', 0.56],
    [3.5, 0.5, 62, 'h er d', 0.64],
  ],
  // I heard you call across.
  3: [
    [0, 0.5, 64, 'y oo', 0.66],
    [0.5, 1.25, 62, 'k aw l', 0.7],
    [1.75, 0.25, 59, 'ah', 0.5],
    [2, 1.5, 57, 'k r aw s', 0.62],
  ],
  // So hold on to the rope, hold on to the light, and we won't be long. Oh ...
  4: [
    [0.5, 0.5, 57, 's aw', 0.6],
    [1, 1, 60, 'h aw l d', 0.68],
    [2, 1, 64, 'aa n', 0.76],
    [3, 0.5, 62, 't oo', 0.64],
    [3.5, 0.5, 60, 'dh ah', 0.58],
  ],
  5: [
    [0, 1, 62, 'r aw uh p', 0.74],
    [1.5, 0.5, 62, 'h aw l d', 0.7],
    [2, 1, 66, 'aa n', 0.82],
    [3, 0.5, 64, 't oo', 0.68],
    [3.5, 0.5, 62, 'dh ah', 0.62],
  ],
  6: [
    [0, 1.25, 64, 'l aa ih t', 0.8],
    [1.5, 0.5, 67, 'ae n', 0.72],
    [2, 0.5, 67, 'w ee', 0.78],
    [2.5, 0.5, 67, 'w aw n', 0.8],
    [3, 0.5, 69, 'b ee', 0.82],
    [3.5, 1.75, 69, 'l aw n', 0.9],
  ],
  7: [
    [2, 0.5, 66, 'aw', 0.8],
    [2.5, 0.5, 67, 'aw', 0.84],
    [3, 0.85, 69, 'aw uh', 0.9],
  ],
  // Let the river run over every stone,
  8: [
    [0, 0.5, 71, 'l eh t', 0.92],
    [0.5, 0.5, 71, 'dh ah', 0.8],
    [1, 1, 74, 'r ih', 1],
    [2, 0.5, 71, 'v er', 0.86],
    [2.5, 1.75, 69, 'r ah n', 0.92],
  ],
  9: [
    [1.5, 0.5, 66, 'aw', 0.8],
    [2, 0.5, 67, 'v er', 0.8],
    [2.5, 0.5, 69, 'eh v', 0.86],
    [3, 0.5, 71, 'r ee', 0.88],
    [3.5, 1.75, 71, 's t aw n', 0.94],
  ],
  // let the river turn and carry me home,
  10: [
    [2, 0.5, 71, 'l eh t', 0.88],
    [2.5, 0.5, 71, 'dh ah', 0.8],
    [3, 1, 74, 'r ih', 1],
  ],
  11: [
    [0, 0.5, 76, 'v er', 0.96],
    [0.5, 2, 74, 't er n', 1],
    [3, 0.5, 69, 'ae n', 0.78],
    [3.5, 0.5, 71, 'k eh', 0.86],
  ],
  12: [
    [0, 0.5, 71, 'r ee', 0.86],
    [0.5, 0.5, 69, 'm ee', 0.82],
    [1, 1.4, 67, 'h aw m', 0.92],
    [3, 0.5, 71, 'aw', 0.84],
    [3.5, 0.5, 74, 'aw', 0.92],
  ],
  // oh, oh ... carry us all the way home.
  13: [
    [0, 2, 76, 'aa', 1],
    [2, 1.6, 75, 'aa', 0.92],
  ],
  14: [
    [0, 0.75, 74, 'k eh', 0.98],
    [0.75, 0.5, 71, 'r ee', 0.86],
    [1.25, 0.75, 69, 'ah s', 0.84],
    [2, 1, 69, 'aw l', 0.9],
    [3, 0.5, 67, 'dh ah', 0.78],
    [3.5, 0.5, 66, 'w eh ih', 0.86],
  ],
  15: [[0, 3.1, 67, 'h aw m', 0.9]],
};

export const melody: readonly Syllable[] = Object.entries(lines).flatMap(([bar, sung]) =>
  sung.map(([beat, beats, midi, sounds, velocity]) => ({ bar: Number(bar), beat, beats, midi, sounds, velocity })),
);
