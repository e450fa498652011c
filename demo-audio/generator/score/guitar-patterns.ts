/**
 * Guitar parts, one string a bar, one letter a sixteenth: D d strong and soft down-strokes, U u up-strokes,
 * P p palm-muted low strings, k a muted chuck, 0..5 a single string from the lowest, - all strings damped.
 */
export const leftBars: readonly string[] = [
  '0.2.3.4.5.4.3.4.',
  '1.2.3.4.5.4.3.4.',
  '1.2.3.4.5.4.3.2.',
  '2.3.4.5.2.3.4.5.',
  'P.p.p.pPp.p.P.p.',
  'P.p.p.pPp.p.P.p.',
  'P.p.p.pPp.p.P.pp',
  'P.p.p.p.D.....-.',
  'D...d.uu.ud.d.u.',
  'D...d.uu.ud.dudu',
  'D...d.uu.ud.d.u.',
  'D...d.uu.uD.d.Du',
  'D...d.uu.ud.d.u.',
  'D.......D.....du',
  'D.d.d.uuD.D.D.D.',
  'D...............',
];

/** The second player is another player: later entry, higher voicings, longer strokes, other accents. */
export const rightBars: readonly string[] = [
  '................',
  '......2.3.4.5...',
  '................',
  '......2.3.4.5.4.',
  '2.3.4.5.4.3.4.5.',
  '2.3.4.5.4.3.4.5.',
  '2.3.4.5.4.5.4.5.',
  '5.4.3.4.D.....-.',
  'D.....D..kd...uk',
  'D.....D..k..d.uk',
  'D.....D..kd...uk',
  'D..D..D...D..k..',
  'D.....D..kd...uk',
  'D.......D.......',
  'D..D..D.D..kD.u.',
  'D...............',
];
