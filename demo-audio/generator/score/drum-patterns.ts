/**
 * The drum parts: one string a bar, one letter a sixteenth, a dot for nothing.
 * Small letters are soft, capitals loud; `velocities` gives their strength.
 */
export const kickBars: readonly string[] = [
  'X.........x.....',
  'X......o..x.....',
  'X.........x.....',
  'X......o..x..o..',
  'X.....x.X.....o.',
  'X.....x.X..o....',
  'X...x...X...x...',
  'X...X...X.......',
  'X.....x..xX.....',
  'X..o..x...X....o',
  'X.....x..xX.....',
  'X..o..x...X..x..',
  'X.....x..xX.....',
  'X.......X.......',
  'X.X...x.X.......',
  'X...............',
];

/** g ghost, r side-stick. */
export const snareBars: readonly string[] = [
  '....r.......r...',
  '....r.......r...',
  '....r.......r...',
  '....r.......r..g',
  '....o.......x...',
  '....o..g.g..x...',
  '....x...g...x.g.',
  'g.g.g.gog.ooxxX.',
  '....X..g.g..X..g',
  '....X....g..X...',
  '....X..g.g..X..g',
  '....X..g.g..X.xx',
  '....X..g.g..X..g',
  '....X.......X...',
  '....X..gX.x.XxXX',
  'x...............',
];

/** o and O are open strokes, h and H half-open. */
export const hatBars: readonly string[] = [
  'c.c.C.c.c.c.C.c.',
  'c.c.C.ccc.c.C.c.',
  'c.c.C.c.c.c.C.c.',
  'c.c.C.ccc.c.C.o.',
  'CcccCcccCcccCccc',
  'CcccCcccCcccCcO.',
  'CcccCcccCcccCccc',
  'C.c.C.c.C.......',
  'h.H.h.H.h.H.h.H.',
  'h.H.h.H.h.H.h.Hc',
  'h.H.h.H.h.H.h.H.',
  'h.H.h.H.h.H.h.O.',
  'h.H.h.H.h.H.h.H.',
  'h.c.C.c.h.c.C.c.',
  'h.H.h.H.h.H.....',
  '................',
];

/** f floor tom, m middle tom, t high tom. */
export const tomBars: readonly string[] = [
  '................',
  '................',
  '................',
  '................',
  '................',
  '........f.....f.',
  'f...f...f...f.fF',
  'f.f.f.f.F.F.....',
  '................',
  '................',
  '................',
  '............mM..',
  '................',
  '................',
  '..........tTm.FF',
  'f...............',
];

/** X crash, s a soft mallet stroke: sixteen of them make the swell into the chorus. */
export const cymbalBars: readonly string[] = [
  '................',
  '................',
  '................',
  '................',
  '................',
  '................',
  '................',
  '......ssssssss..',
  'X...............',
  '................',
  'x...............',
  '................',
  'x...............',
  '........s.......',
  'x...............',
  'X...............',
];

/** s shaker, t tambourine. */
export const handBars: readonly string[] = [
  '................',
  '................',
  '................',
  '................',
  'SsssSsssSsssSsss',
  'SsssSsssSsssSsss',
  'SsssSsssSsssSsss',
  'SsssSsssS.......',
  'SsssTsssSsssTsts',
  'SsssTsssSsssTsss',
  'SsssTsssSsssTsts',
  'SsssTsssSsssTstt',
  'SsssTsssSsssTsts',
  'S.s.T.s.S.s.T.s.',
  'SsssTsssSsssT...',
  'T...............',
];

/** Strength of a letter: capitals are full strokes. */
export const velocityOf = (letter: string): number => {
  const soft: Readonly<Record<string, number>> = { g: 0.2, o: 0.45, x: 0.74, r: 0.8, c: 0.5, s: 0.5, h: 0.7, t: 0.6 };
  return letter === letter.toUpperCase() ? 1 : (soft[letter.toLowerCase()] ?? 0.7);
};
