import type { Random } from '../random.ts';
import { wander } from '../random.ts';
import type { Syllable } from '../score/melody.ts';
import type { Phone } from '../score/phones.ts';
import { isVowel, phones } from '../score/phones.ts';
import { hzOf, secondsAt, songFrames } from '../tempo.ts';

/** Frames between two values of a control curve (1 ms). */
export const controlFrames = 48;
const count = Math.ceil(songFrames / controlFrames) + 1;
const perSecond = 1000;

/** What the mouth and the folds do, one value a millisecond. */
export interface Controls {
  readonly hz: Float32Array;
  readonly voice: Float32Array;
  readonly breath: Float32Array;
  readonly hiss: Float32Array;
  readonly hissHz: Float32Array;
  readonly formants: readonly [Float32Array, Float32Array, Float32Array];
}

/** How this singer sings. */
export interface Manner {
  readonly behindMs: number;
  readonly scatterMs: number;
  readonly vibratoHz: number;
  readonly vibratoCents: number;
  readonly driftCents: number;
}

/** A syllable laid out in time, s: lead-in, vowel, coda. */
interface Laid {
  readonly from: number;
  readonly vowel: number;
  readonly coda: number;
  readonly to: number;
  readonly midi: number;
  readonly velocity: number;
  readonly onset: readonly Phone[];
  readonly vowels: readonly Phone[];
  readonly ending: readonly Phone[];
}

const lengthOf = (sounds: readonly Phone[]): number => sounds.reduce((sum, { seconds }) => sum + seconds, 0);

/** Splits the letters into lead-in, vowels and coda, and puts the vowel on the beat. */
const layOut = (syllable: Syllable, manner: Manner, random: Random): Laid => {
  const letters = syllable.sounds.split(' ');
  const first = letters.findIndex(isVowel);
  const after = letters.findLastIndex(isVowel) + 1;
  const spell = (some: string[]): Phone[] => some.flatMap((one) => phones[one] ?? []);
  const onset = spell(letters.slice(0, first));
  const ending = spell(letters.slice(after));
  const vowel = secondsAt(syllable.bar, syllable.beat) + (manner.behindMs + manner.scatterMs * random.bell()) / 1000;
  const to = vowel + secondsAt(syllable.bar, syllable.beat + syllable.beats) - secondsAt(syllable.bar, syllable.beat);
  return {
    from: Math.max(0, vowel - lengthOf(onset)),
    vowel,
    coda: Math.max(vowel + 0.06, to - lengthOf(ending)),
    to,
    midi: syllable.midi,
    velocity: syllable.velocity * (1 + 0.04 * random.bell()),
    onset,
    vowels: spell(letters.slice(first, after)),
    ending,
  };
};

/** No syllable sings on when the next one leads in: the coda moves up, and joins it when they nearly touch. */
const joined = (laid: readonly Laid[]): Laid[] =>
  laid.map((one, i) => {
    const next = laid[i + 1];
    if (!next || next.from > one.to + 0.05) return one;
    const coda = Math.max(one.vowel + 0.05, next.from - lengthOf(one.ending));
    return { ...one, coda, to: next.from };
  });

const indexAt = (seconds: number): number => Math.max(0, Math.min(count, Math.round(seconds * perSecond)));

/** Follows a curve of targets with a one-pole lag; `fallMs` may differ from `riseMs`. */
const lag = (curve: Float32Array, riseMs: number, fallMs = riseMs): Float32Array => {
  const rise = 1 - Math.exp(-1 / riseMs);
  const fall = 1 - Math.exp(-1 / fallMs);
  let y = curve[0]!;
  for (let i = 0; i < curve.length; i++) {
    const gap = curve[i]! - y;
    y += gap * (gap > 0 ? rise : fall);
    curve[i] = y;
  }
  return curve;
};

/** Strength of a held note along its length: it swells to the middle and sinks at the end. */
const swell = (x: number, seconds: number): number =>
  1 - Math.min(0.4, 0.22 * seconds) * (0.45 * (1 - x) ** 2 + x ** 3);

const mouth = (): { controls: Controls; write: (from: number, to: number, phone: Phone, level: number) => void } => {
  const curve = (value: number): Float32Array => new Float32Array(count).fill(value);
  const controls: Controls = {
    hz: curve(220),
    voice: curve(0),
    breath: curve(0),
    hiss: curve(0),
    hissHz: curve(6000),
    formants: [curve(600), curve(1400), curve(2700)],
  };
  const write = (from: number, to: number, phone: Phone, level: number): void => {
    const [a, b] = [indexAt(from), indexAt(to)];
    controls.voice.fill(phone.voice * level, a, b);
    controls.breath.fill(phone.breath * (0.4 + 0.6 * level), a, b);
    controls.hiss.fill(phone.hiss * (0.5 + 0.5 * level), a, b);
    if (phone.hiss > 0) controls.hissHz.fill(phone.hissHz, a, count);
    phone.formants.forEach((hz, i) => controls.formants[i]!.fill(hz, a, count));
  };
  return { controls, write };
};

/** Writes one syllable's sounds; later sounds overwrite what earlier ones left standing. */
const utter = (one: Laid, { controls, write }: ReturnType<typeof mouth>): void => {
  const level = one.velocity ** 1.3;
  let at = one.from;
  for (const phone of one.onset) write(at, (at += phone.seconds), phone, level);
  const [open, glide] = one.vowels;
  write(one.vowel, one.coda, open!, level);
  if (glide) write(one.coda - Math.min(0.17, 0.45 * (one.coda - one.vowel)), one.coda, glide, level);
  const [a, b] = [indexAt(one.vowel), indexAt(one.coda)];
  for (let i = a; i < b; i++) controls.voice[i]! *= swell((i - a) / (b - a), one.coda - one.vowel);
  at = one.coda;
  for (const phone of one.ending) write(at, Math.min(one.to, (at += phone.seconds)), phone, level);
};

/** A breath before each phrase that leaves time for one, through the shape of the vowel to come. */
const breathe = (one: Laid, before: Laid | undefined, { write }: ReturnType<typeof mouth>): void => {
  if (one.from - (before?.to ?? 0) < 0.5) return;
  const { formants } = one.vowels[0]!;
  write(
    one.from - 0.4,
    one.from - 0.09,
    { formants, voice: 0, breath: 0.22, hiss: 0.01, hissHz: 3000, seconds: 0 },
    0.7,
  );
};

/** Pitch in semitones: notes joined by glides, a scoop into each phrase, late vibrato, drift. */
const intone = (laid: readonly Laid[], manner: Manner, random: Random): Float32Array => {
  const line = new Float32Array(count).fill(laid[0]!.midi);
  const depth = new Float32Array(count);
  laid.forEach((one, i) => {
    const fresh = i === 0 || one.from - laid[i - 1]!.to > 0.2;
    const from = indexAt(one.from + 0.6 * (one.vowel - one.from));
    line.fill(one.midi, from, count);
    if (fresh) line.fill(one.midi - 0.9, indexAt(one.from - 0.05), indexAt(one.vowel + 0.015));
    depth.fill(1, Math.min(count, indexAt(one.vowel + 0.26)), Math.max(indexAt(one.vowel + 0.26), indexAt(one.to)));
  });
  lag(lag(line, 19), 19);
  lag(lag(depth, 110, 30), 40);
  const drift = wander(random, count, 310);
  const flutter = wander(random, count, 23);
  const pace = wander(random, count, 700);
  let phase = random.next();
  for (let i = 0; i < count; i++) {
    phase += (manner.vibratoHz * (1 + 0.06 * pace[i]!)) / perSecond;
    const wave = manner.vibratoCents * depth[i]! * Math.sin(2 * Math.PI * phase);
    line[i] = hzOf(line[i]! + (wave + manner.driftCents * drift[i]! + 2.5 * flutter[i]!) / 100);
  }
  return line;
};

/** Everything a singer does for a part, as control curves. */
export const sing = (part: readonly Syllable[], manner: Manner, random: Random): Controls => {
  const laid = joined(part.map((syllable) => layOut(syllable, manner, random)));
  const lips = mouth();
  laid.forEach((one, i) => {
    breathe(one, laid[i - 1], lips);
    utter(one, lips);
  });
  const { controls } = lips;
  controls.hz.set(intone(laid, manner, random));
  lag(lag(controls.voice, 9, 16), 5, 12);
  lag(lag(controls.breath, 8, 14), 4);
  lag(controls.hiss, 3, 6);
  for (const formant of controls.formants) lag(lag(formant, 12), 12);
  return controls;
};
