import { setChain } from '../../session/chain/chain-edits.ts';
import { withItemIds } from '../../session/ids.ts';
import type { Preset } from '../../session/presets/preset.ts';
import type { Bench } from './bench.svelte.ts';
import { askFit } from './fit-presets.ts';
import type { PathRow } from './paths.ts';

/**
 * Previews a preset on a path, fitted to what comes to it: it is heard, at matched loudness where that is on, and measured, and is
 * taken or left from there.
 */
export const hearPreset = (bench: Bench, row: PathRow, preset: Preset): Promise<boolean> =>
  bench.attempt('sound', async () => {
    bench.discardPreview();
    const signal = bench.untilStep;
    const { chain } = await askFit(bench, row.id, preset, signal);
    signal.throwIfAborted();
    bench.preview(`${preset.name} on ${row.name}`, (session) => setChain(session, row.id, withItemIds(chain)));
    if (bench.session) bench.listening.hear('mix');
  });
