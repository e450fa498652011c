import type { GuardResult } from '../../blend/guards/guards.ts';
import { counted } from '../shared/format.ts';

type Guard = Pick<GuardResult, 'name' | 'pass' | 'sentence'>;

/** What is said of guards that broke or hold again since they were last known; '': nothing. At first only what is broken. */
export const brokenAnew = (before: readonly Guard[] | null, now: readonly Guard[]): string => {
  const brokeBefore = new Set((before ?? []).flatMap(({ name, pass }) => (pass ? [] : [name])));
  const broken = now.filter(({ pass }) => !pass);
  const anew = broken.filter(({ name }) => !brokeBefore.has(name));
  if (anew.length === 1) return `Guard broken: ${anew[0]!.sentence}`;
  if (anew.length > 1) return `${counted(anew.length, 'guard')} broken: ${anew.map(({ name }) => name).join(', ')}.`;
  const holds = now.filter(({ name, pass }) => pass && brokeBefore.has(name));
  if (holds.length === 0) return '';
  return broken.length === 0
    ? 'All guards hold again.'
    : `Guards that hold again: ${holds.map(({ name }) => name).join(', ')}.`;
};
