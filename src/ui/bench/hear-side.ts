import type { Heard } from '../../engine/engine.ts';
import type { Bench } from './bench.svelte.ts';
import { sideName } from './sides.ts';

/** Hears a side, or says why there is nothing to hear of it. */
export const hearSide = (bench: Bench, heard: Heard): void => {
  if (bench.listening.hear(heard)) return;
  const name = sideName(bench.session!, heard);
  const { phase } = bench.view.state;
  bench.tell(
    phase === 'rendering' || phase === 'loading'
      ? `${name} is still being rendered: try again in a moment.`
      : `${name} has no sound: add its files, or switch on what feeds it.`,
    'sound',
  );
};

/** Why a key that hears a side has nothing to hear. */
export const whyNoSide = (bench: Bench, key: string): string | null => {
  const { rough, mixBus } = bench.session!;
  if (key === '1') return 'This session has no rough mix: add one to compare with it.';
  if (key === '0') {
    if (rough === null) return 'This session has no rough mix: 0 plays it through the mix bus.';
    return mixBus.chain.length === 0
      ? 'The mix bus has no processors: the rough mix through it would be the rough mix itself.'
      : null;
  }
  return /^[4-9]$/.test(key) ? `There is no pass on key ${key} yet: save one under Compare.` : null;
};
