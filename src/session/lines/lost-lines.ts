import type { Mix } from '../graph.ts';
import { isThere } from './controls.ts';

/** A mix without the lines whose target is there no more: what is taken out takes its lines with it. */
export const withoutLostLines = <M extends Mix>(mix: M): M => {
  const lines = mix.lines.filter(({ target }) => isThere(mix, target));
  return lines.length === mix.lines.length ? mix : { ...mix, lines };
};
