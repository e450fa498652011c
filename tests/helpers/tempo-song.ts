/** Tempo of a session with a step, a ramp and another meter in the middle of the ramp; its bars by arithmetic stand below. */
export const CHANGING_TEMPO = {
  tempo: 120,
  tempoChanges: [
    { bar: 3, tempo: 60 },
    { bar: 5, tempo: 120, how: 'ramp' },
    { bar: 6, tempo: 90 },
  ],
  meterChanges: [{ bar: 4, meter: [6, 8] }],
} as const;

/**
 * Bars 1 and 2 are 4 quarter notes of 0.5 s each. From bar 3 on the tempo rises from 60 to 120 over the 4 quarter notes of that bar and the
 * 3 of bar 4, which takes 60 / k ln(120 / 60) seconds, with k = 60 / 7 BPM a quarter note.
 */
export const RAMP_SECONDS = (60 / (60 / 7)) * Math.log(2);
