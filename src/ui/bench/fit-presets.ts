import { chainOf, MIX, setChain } from '../../session/chain-edits.ts';
import type { FittedChain } from '../../render/fit-chain.ts';
import { fitWords } from '../../render/fit-words.ts';
import type { Preset } from '../../session/preset.ts';
import { presetOnChain } from '../../session/preset-words.ts';
import { presets } from '../../session/presets.ts';
import type { ChainItems } from '../../session/schema.ts';
import { loopName } from '../song-strip/strip-geometry.ts';
import type { Bench } from './bench.svelte.ts';

/** Resolves when what is in hand has been rendered again: work begins a moment after an edit. */
const nextRendered = ({ engine }: Bench): Promise<void> =>
  new Promise((resolve) => {
    let isAtWork = false;
    const stop = engine.listen(() => {
      const isReady = engine.view.state.phase === 'ready';
      if (!isReady) isAtWork = true;
      else if (isAtWork) {
        stop();
        resolve();
      }
    });
  });

/** What it is fitted over: the section in loop, else the song. */
export const fitPlace = (bench: Bench): string => {
  const loop = bench.listening.loopRange;
  return loop ? loopName(loop, bench.session!.sections, bench.session!) : 'the song';
};

const chainNow = ({ session }: Bench, path: string): ChainItems | null => {
  const isThere = session && (path === MIX || [...session.groups, ...session.buses].some(({ id }) => id === path));
  return isThere ? chainOf(session, path) : null;
};

/** Asks at once, and where what comes to it is not rendered yet, again when it is. */
const askFit = async (bench: Bench, path: string, preset: Preset): Promise<FittedChain> => {
  const question = { kind: 'fit preset', path, preset, range: bench.listening.loopRange } as const;
  try {
    return await bench.engine.ask(question);
  } catch {
    await nextRendered(bench);
    return bench.engine.ask(question);
  }
};

/** Fits the preset that lies on a path. null: there is none, or its chain was changed meanwhile. */
const fitOne = async (bench: Bench, path: string, label: string, gesture: string): Promise<string[] | null> => {
  const before = chainNow(bench, path);
  const preset = before && presetOnChain(presets, before);
  if (!preset) return null;
  const fitted = await askFit(bench, path, preset);
  const isSame = JSON.stringify(chainNow(bench, path)) === JSON.stringify(before);
  const went = isSame && bench.edit(label, (session) => setChain(session, path, fitted.chain), gesture);
  return went ? fitWords(fitted) : null;
};

/**
 * Fits the presets that lie on these paths to what comes to each over the section in loop, else the song, one after the
 * other, each as soon as what comes to it is rendered. Undone in one step with what laid them, if that was the same gesture
 * and nothing came between. Gives what is to be told of it; '' for nothing.
 */
export const fitPresets = async (
  bench: Bench,
  paths: readonly string[],
  label: string,
  gesture: string,
): Promise<string> => {
  const place = fitPlace(bench);
  const fits: string[][] = [];
  await bench.attempt('sound', async () => {
    for (const path of paths) {
      const words = await fitOne(bench, path, label, gesture);
      if (words) fits.push(words);
    }
  });
  bench.settle();
  if (fits.length === 0) return '';
  return `Fitted to the sound over ${place}.${fits.length > 1 ? '' : ` ${fits[0]!.join('; ')}.`}`;
};
