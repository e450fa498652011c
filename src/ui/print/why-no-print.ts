import type { Bench } from '../bench/bench.svelte.ts';

/**
 * Why there can be no print now, in a few words; null: there can. A print is of what is rendered, and its report compares: both
 * must be there, and of the session as it stands.
 */
export const whyNoPrint = (bench: Bench): string | null => {
  const { state, findings, missing, audible } = bench.view;
  const before = audible.includes('rough') ? findings.rough : findings.received;
  if (missing.length > 0) return `Files are missing: add ${missing[0]} first`;
  if (bench.session?.tracks.length === 0) return 'There are no tracks yet: add audio first';
  if (bench.previewLabel !== null) return 'A preview is open: apply or discard it first';
  if (bench.isStopped) return 'Rendering was stopped: render now, then print';
  if (state.phase === 'failed') return 'Rendering failed: see the notice below';
  if (state.phase !== 'ready') return 'Rendering';
  if (bench.isOld('mix')) return 'Measuring what changed';
  return findings.mix === null || before === null ? 'Measuring' : null;
};
