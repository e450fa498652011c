import fc from 'fast-check';
import { seeded } from './signals.ts';

/** Sounds of many kinds, some strong right up to half the rate: the shortcut must hold for all. */
export const sounds = fc
  .record({
    seed: fc.integer(),
    frames: fc.integer({ min: 1, max: 700 }),
    kind: fc.constantFrom('uniform', 'signs', 'sparse', 'clipped', 'smooth', 'steps', 'swell', 'whistle'),
  })
  .map(({ seed, frames, kind }) => {
    const random = seeded(seed);
    let last = 0;
    const pitch = 0.35 + 0.15 * random();
    const beat = random() / 20;
    return Float32Array.from({ length: frames }, (_, n) => {
      const u = 2 * random() - 1;
      if (kind === 'signs') return Math.sign(u);
      if (kind === 'sparse') return random() < 0.02 ? u : 0;
      if (kind === 'clipped') return Math.max(-1, Math.min(1, 3 * u));
      if (kind === 'smooth') return (last = 0.95 * last + 0.05 * u);
      if (kind === 'steps') return (last = random() < 0.05 ? u : last);
      if (kind === 'whistle') return Math.sin(2 * Math.PI * pitch * n) * (1 + n / 3000) * Math.cos(beat * n);
      return kind === 'swell' ? u * (n / frames) : u;
    });
  });
