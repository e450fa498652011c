import type { Note } from './bass-line.ts';

/** Keys: one string a bar, C c full chord loud and soft, t the two upper notes, b the lowest; - lets go. */
export const keyBars: readonly string[] = [
  'C.....b.t.......',
  'C.....b.c.......',
  'C.....b.t.....t.',
  'C.....b.C.....t.',
  'c..c..c...c.....',
  'c..c..c...c.....',
  'c..c..c..c..c...',
  'C..c..c.C.....-.',
  'C.c.c.c.C.c.c.c.',
  'C.c.c.c.C.c.c.c.',
  'C.c.c.c.C.c.c.c.',
  'C.c.c.c.C.c.C.c.',
  'C.c.c.c.C.c.c.c.',
  'C.......C.......',
  'C.c.c.c.C.c.C.c.',
  'C...............',
];

const note = (bar: number, beat: number, beats: number, midi: number, velocity: number): Note => ({
  bar,
  beat,
  beats,
  midi,
  velocity,
});

/** Answers to the voice where it breathes. */
export const keyFills: readonly Note[] = [
  note(1, 0.5, 0.5, 79, 0.5),
  note(1, 1, 1, 78, 0.55),
  note(2, 1.5, 0.5, 74, 0.5),
  note(2, 2, 0.5, 78, 0.52),
  note(2, 2.5, 1.2, 79, 0.56),
  note(5, 1.25, 0.25, 81, 0.5),
  note(5, 1.5, 0.5, 78, 0.5),
  note(10, 1, 0.5, 83, 0.6),
  note(10, 1.5, 0.9, 79, 0.6),
  note(12, 2.5, 0.5, 83, 0.6),
  note(12, 3, 0.5, 81, 0.55),
  note(15, 1, 0.5, 81, 0.5),
  note(15, 1.5, 0.5, 83, 0.52),
  note(15, 2, 1.8, 86, 0.5),
];
