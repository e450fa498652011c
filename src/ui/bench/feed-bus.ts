import { setSend } from '../../session/edits/edits.ts';
import { isAsWritten, presetOnChain } from '../../session/presets/preset-words.ts';
import { presets } from '../../session/presets/presets.ts';
import type { Bench } from './bench.svelte.ts';
import { fitPresets } from './fit-presets.ts';
import { feedersOf } from './paths.ts';

/**
 * Makes a group, a track, a bus or the rough feed a bus. A preset that lies on the bus as written has had nothing to be fitted to:
 * what feeds it first brings that.
 */
export const feedBus = (bench: Bench, from: { readonly id: string; readonly name: string }, bus: string): void => {
  const session = bench.session!;
  const { chain, name } = session.buses.find(({ id }) => id === bus)!;
  const preset = presetOnChain(presets, chain);
  const isUnfitted = feedersOf(session, bus).length === 0 && preset !== undefined && isAsWritten(preset, chain);
  const label = `send from ${from.name} to ${name}`;
  const gesture = isUnfitted ? `feed ${bus}` : null;
  if (!bench.edit(label, (s) => setSend(s, from.id, bus), gesture) || gesture === null) return;
  void fitPresets(bench, [bus], label, gesture).then((words) => words && bench.tell(words, 'edits'));
};
