import type { Random } from '../random.ts';
import { randomFrom } from '../random.ts';
import type { Signal } from '../signal.ts';
import { burst, metal, ringModes } from './modes.ts';

const hatPlate = metal(randomFrom('hat plate'), { count: 56, lowHz: 3100, highHz: 14500, seconds: 0.9, tilt: 0.15 });
const crashPlate = metal(randomFrom('crash plate'), { count: 130, lowHz: 310, highHz: 15000, seconds: 5.2, tilt: 0.1 });

/** How far the hats stand open: 0 shut, 1 open. The foot that shuts them is the next stroke's business. */
export const strikeHat = (out: Signal, start: number, velocity: number, open: number, random: Random): void => {
  const ring = 0.11 + 0.85 * open ** 1.5 + 0.015 * random.bell();
  ringModes(out, start, hatPlate, 0.42 * velocity * (0.9 + 0.1 * random.signed()), ring);
  burst(out, start, { gain: 0.26 * velocity ** 1.3, attack: 0.0004, decay: 0.03, lowHz: 4200, highHz: 12000 }, random);
  const sizzle = { gain: 0.42 * velocity, attack: 0.0015, decay: 0.11 + 0.65 * open, lowHz: 5200, highHz: 11500 };
  burst(out, start, sizzle, random);
};

/** Crash: a bright bloom over a long clang. `soft` strokes (mallets) leave out the stick. */
export const strikeCrash = (out: Signal, start: number, velocity: number, soft: boolean, random: Random): void => {
  ringModes(out, start, crashPlate, 0.34 * velocity, soft ? 0.6 : 1.4);
  const wash = {
    gain: 0.75 * velocity,
    attack: soft ? 0.05 : 0.005,
    decay: soft ? 0.9 : 3.4,
    lowHz: 2600,
    highHz: 9000,
  };
  burst(out, start, wash, random);
  if (!soft)
    burst(out, start, { gain: 0.4 * velocity, attack: 0.0004, decay: 0.06, lowHz: 2500, highHz: 9500 }, random);
};
