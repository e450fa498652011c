import { cacheKey, foundOnly, type Strips } from '../executor.ts';
import type { Plan } from './plan.ts';

/** The plan run no further than to this frame of the song: until there it sounds as the whole does. */
export const planUntil = (plan: Plan, frame: number): Plan => ({ ...plan, frames: Math.min(plan.frames, frame) });

/** Strips of the whole plan, as that of a part of it looks for them; what the part runs is not kept. */
export const stripsUntil = (whole: Plan, part: Plan, strips: Strips): Strips => {
  const keys = new Map(whole.strips.map((strip) => [cacheKey(part, strip), cacheKey(whole, strip)]));
  return foundOnly({ get: (key) => strips.get(keys.get(key) ?? key) });
};
