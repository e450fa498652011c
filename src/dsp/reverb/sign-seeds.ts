/**
 * Seeds of the signs of the taps for each character: a row for each band of sizes, a seed for each step of the decay from 0.4 s on, a third
 * of an octave each. Searched at 48 kHz, a cell at a time, over sizes in steps of 5 %: the first of 64 seeds with which both sides have a
 * highest peak of 11.5 dB at most, a repetition of 0.03 at most and a spread of 5.9 dB at most (the measure of tests/helpers/room-figures.ts),
 * decay time and echo density as with the taps' own signs, which are 0; where none has, the one that comes nearest. Two cells of the plate (1.5 s, 50 %; 2 s, 100 %)
 * also had to keep the decay time of each octave and the early echo density of tests/reference/reverb.test.ts.
 * Between these sizes and decays, and at other sample rates, they are as any signs: there 6 % of responses have a higher peak (12.7 dB at most
 * in 400 tried) and 8 to 13 % more repetition (0.037 at most).
 */
// oxfmt-ignore
export const SIGN_SEEDS: Readonly<Record<'plate' | 'room' | 'chamber' | 'hall', readonly (readonly number[])[]>> = {
  plate: [
    [124, 75, 102, 102, 120, 0, 75, 0, 0, 0, 17, 0, 17],
    [100, 75, 100, 56, 100, 0, 56, 0, 75, 0, 0, 0, 0],
    [103, 103, 75, 0, 0, 0, 0, 0, 0, 0, 17, 0, 17],
    [102, 105, 100, 0, 0, 75, 0, 0, 0, 56, 56, 17, 17],
    [17, 17, 114, 17, 17, 75, 17, 0, 0, 0, 17, 75, 75],
    [105, 105, 105, 105, 0, 0, 0, 0, 17, 0, 17, 75, 75],
    [133, 108, 108, 0, 0, 0, 75, 0, 0, 0, 17, 17, 17],
    [101, 101, 112, 75, 100, 0, 75, 0, 0, 0, 17, 108, 112],
    [129, 145, 122, 149, 100, 75, 75, 100, 17, 75, 17, 17, 104],
  ],
  room: [
    [108, 105, 105, 101, 0, 101, 75, 75, 0, 75, 0, 75, 17],
    [75, 75, 75, 75, 75, 0, 0, 56, 0, 0, 0, 17, 17],
    [75, 103, 103, 104, 107, 0, 0, 0, 0, 0, 17, 0, 0],
    [0, 0, 0, 0, 0, 75, 0, 0, 56, 75, 17, 0, 0],
    [101, 75, 0, 56, 56, 0, 0, 75, 0, 0, 0, 75, 75],
    [75, 56, 56, 75, 0, 0, 17, 0, 0, 56, 17, 0, 0],
    [100, 100, 101, 100, 100, 75, 0, 0, 0, 0, 0, 75, 56],
    [104, 101, 107, 75, 0, 0, 0, 0, 0, 0, 17, 0, 0],
    [131, 101, 113, 134, 137, 0, 0, 0, 0, 0, 122, 103, 107],
  ],
  chamber: [
    [56, 75, 101, 75, 75, 100, 103, 0, 0, 0, 56, 56, 56],
    [103, 75, 75, 75, 17, 100, 0, 0, 75, 0, 100, 0, 0],
    [56, 75, 17, 0, 0, 75, 0, 0, 56, 0, 17, 0, 0],
    [101, 101, 101, 56, 56, 0, 0, 0, 0, 0, 17, 56, 0],
    [75, 75, 75, 75, 75, 0, 75, 0, 75, 0, 17, 17, 104],
    [56, 0, 101, 75, 75, 0, 75, 0, 0, 0, 17, 17, 104],
    [116, 109, 75, 75, 108, 0, 100, 0, 0, 0, 0, 56, 103],
    [130, 121, 121, 116, 103, 0, 0, 0, 0, 0, 0, 0, 0],
    [129, 143, 139, 136, 121, 0, 103, 75, 0, 0, 17, 100, 56],
  ],
  hall: [
    [56, 56, 124, 75, 100, 0, 56, 0, 75, 100, 106, 56, 17],
    [118, 108, 0, 0, 0, 0, 75, 0, 75, 0, 17, 75, 75],
    [75, 112, 56, 75, 56, 0, 0, 0, 0, 0, 17, 75, 75],
    [0, 0, 56, 75, 75, 0, 75, 0, 0, 0, 17, 106, 106],
    [0, 0, 56, 0, 0, 0, 0, 0, 0, 0, 17, 0, 17],
    [112, 136, 136, 56, 56, 101, 0, 0, 75, 0, 102, 0, 0],
    [131, 115, 56, 138, 111, 0, 75, 75, 56, 56, 17, 56, 17],
    [109, 101, 56, 75, 75, 128, 138, 0, 0, 75, 56, 75, 75],
    [122, 147, 56, 147, 147, 143, 100, 0, 75, 75, 17, 56, 56],
  ],
};
