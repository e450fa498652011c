/** One steady state of the mouth. Gains are linear and relative to an open vowel. */
export interface Phone {
  /** First three resonances, Hz. */
  readonly formants: readonly [number, number, number];
  /** Buzz of the vocal folds. */
  readonly voice: number;
  /** Breath through the resonances. */
  readonly breath: number;
  /** Hiss made at teeth or lips, and the middle of its band, Hz. */
  readonly hiss: number;
  readonly hissHz: number;
  /** Length, s; 0 for vowels, which fill the note. */
  readonly seconds: number;
}

const vowel = (f1: number, f2: number, f3: number): Phone[] => [
  { formants: [f1, f2, f3], voice: 1, breath: 0.04, hiss: 0, hissHz: 6000, seconds: 0 },
];
const hum = (f1: number, f2: number, f3: number, voice: number, seconds: number): Phone[] => [
  { formants: [f1, f2, f3], voice, breath: 0.02, hiss: 0, hissHz: 6000, seconds },
];
const hissing = (hissHz: number, hiss: number, voice: number, seconds: number): Phone[] => [
  { formants: [400, 1700, 2700], voice, breath: 0.05, hiss, hissHz, seconds },
];
/** A closed mouth, then the burst. Voiced stops leave a murmur in the closure. */
const stop = (hissHz: number, hiss: number, murmur: number, breath: number): Phone[] => [
  { formants: [320, 1500, 2600], voice: murmur, breath: 0, hiss: 0, hissHz, seconds: 0.038 },
  { formants: [420, 1700, 2700], voice: murmur, breath, hiss, hissHz, seconds: 0.02 },
];

/**
 * Sounds of the lyric by our own letters. Vowel resonances are averages of women's speech as printed by Peterson and
 * Barney (1952), rounded (from memory); consonants are set by common phonetic practice.
 */
export const phones: Readonly<Record<string, readonly Phone[]>> = {
  ee: vowel(310, 2790, 3310),
  ih: vowel(430, 2480, 3070),
  eh: vowel(610, 2330, 2990),
  ae: vowel(860, 2050, 2850),
  aa: vowel(850, 1220, 2810),
  aw: vowel(590, 920, 2710),
  uh: vowel(470, 1160, 2680),
  oo: vowel(370, 950, 2670),
  ah: vowel(760, 1400, 2780),
  er: vowel(500, 1640, 1960),
  l: hum(360, 1100, 2900, 0.55, 0.055),
  r: hum(380, 1250, 1750, 0.55, 0.06),
  w: hum(330, 700, 2500, 0.5, 0.06),
  y: hum(300, 2600, 3200, 0.5, 0.05),
  m: hum(270, 1050, 2300, 0.32, 0.07),
  n: hum(280, 1600, 2600, 0.34, 0.06),
  s: hissing(7200, 0.3, 0, 0.095),
  z: hissing(6800, 0.13, 0.22, 0.06),
  v: hissing(4200, 0.06, 0.32, 0.055),
  dh: hissing(4800, 0.05, 0.34, 0.04),
  h: [{ formants: [600, 1500, 2700], voice: 0.05, breath: 0.35, hiss: 0.01, hissHz: 3500, seconds: 0.07 }],
  t: stop(5200, 0.34, 0, 0.12),
  k: stop(2400, 0.3, 0, 0.16),
  p: stop(1400, 0.16, 0, 0.14),
  d: stop(4600, 0.14, 0.1, 0.05),
};

export const isVowel = (letters: string): boolean => phones[letters]?.[0]?.seconds === 0;
