import { randomFrom } from '../random.ts';
import { lowerPart, middlePart, upperPart } from '../score/backing.ts';
import type { Syllable } from '../score/melody.ts';
import { melody } from '../score/melody.ts';
import type { Signal } from '../signal.ts';
import { mixInto, silence } from '../signal.ts';
import type { Manner } from './singing.ts';
import { sing } from './singing.ts';
import type { Throat } from './voice.ts';
import { voiceOf } from './voice.ts';

const perform = (name: string, part: readonly Syllable[], manner: Manner, throat: Throat): Signal => {
  const random = randomFrom(name);
  return voiceOf(sing(part, manner, random), throat, random);
};

/** The lead voice, close microphone, no room. */
export const singLead = (): Signal =>
  perform(
    'lead',
    melody,
    { behindMs: 9, scatterMs: 9, vibratoHz: 5.4, vibratoCents: 34, driftCents: 6 },
    { scale: 1, openShare: 0.58, softHz: 3200, fullHz: 12000, breathiness: 0.2 },
  );

/** Left and right of a mono voice by constant power, `position` -1..1. */
const place = (out: readonly [Signal, Signal], voice: Signal, position: number): void => {
  const angle = ((position + 1) * Math.PI) / 4;
  mixInto(out[0], voice, Math.cos(angle));
  mixInto(out[1], voice, Math.sin(angle));
};

/** Three backing singers around one stereo pair. */
export const singBacking = (): [Signal, Signal] => {
  const out: [Signal, Signal] = [silence(), silence()];
  const soft = { openShare: 0.66, softHz: 2200, fullHz: 8000, breathiness: 0.18 };
  const loose = { scatterMs: 15, driftCents: 8 };
  place(
    out,
    perform('upper', upperPart, { ...loose, behindMs: 14, vibratoHz: 5.6, vibratoCents: 22 }, { ...soft, scale: 1.03 }),
    -0.6,
  );
  place(
    out,
    perform(
      'middle',
      middlePart,
      { ...loose, behindMs: 20, vibratoHz: 5.1, vibratoCents: 20 },
      { ...soft, scale: 0.97 },
    ),
    0.6,
  );
  place(
    out,
    perform('lower', lowerPart, { ...loose, behindMs: 17, vibratoHz: 4.9, vibratoCents: 18 }, { ...soft, scale: 0.88 }),
    0.1,
  );
  return out;
};
