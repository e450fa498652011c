import { chainOf, MIX, setChain } from '../../session/chain/chain-edits.ts';
import type { FittedChain } from '../../render/fit/fit-chain.ts';
import { fitWords } from '../../engine/fit-words.ts';
import type { Preset } from '../../session/presets/preset.ts';
import { presetOnChain } from '../../session/presets/preset-words.ts';
import { presets } from '../../session/presets/presets.ts';
import type { ChainItems } from '../../session/schema.ts';
import { withMinus } from '../shared/format.ts';
import { loopName } from '../song-strip/strip-geometry.ts';
import { CHANGED, type Bench } from './bench.svelte.ts';

/** Resolves when what is in hand has been rendered again: work begins a moment after an edit. Rejects when it is overtaken. */
const nextRendered = ({ engine }: Bench, signal: AbortSignal): Promise<void> =>
  new Promise((resolve, reject) => {
    let isAtWork = false;
    const stop = engine.listen(() => {
      const isReady = engine.view.state.phase === 'ready';
      if (!isReady) isAtWork = true;
      else if (isAtWork) {
        stop();
        resolve();
      }
    });
    const drop = (): void => {
      stop();
      reject(signal.reason as Error);
    };
    signal.addEventListener('abort', drop, { once: true });
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
export const askFit = async (bench: Bench, path: string, preset: Preset, signal: AbortSignal): Promise<FittedChain> => {
  const question = { kind: 'fit preset', path, preset, range: bench.listening.loopRange } as const;
  try {
    return await bench.engine.ask(question, { signal });
  } catch {
    signal.throwIfAborted();
    await nextRendered(bench, signal);
    return bench.engine.ask(question, { signal });
  }
};

/** Fits the preset that lies on a path. null: there is none, or its chain is another one by now. Rejects when it is overtaken. */
const fitOne = async (bench: Bench, path: string, label: string, gesture: string): Promise<string[] | null> => {
  const before = chainNow(bench, path);
  const preset = before && presetOnChain(presets, before);
  if (!preset) return null;
  const signal = bench.untilStep;
  const fitted = await askFit(bench, path, preset, signal);
  signal.throwIfAborted();
  const isSame = JSON.stringify(chainNow(bench, path)) === JSON.stringify(before);
  const went = isSame && bench.edit(label, (session) => setChain(session, path, fitted.chain), gesture);
  return went ? fitWords(fitted).map(withMinus) : null;
};

const OVERTAKEN =
  'Fitting stopped, as the session was changed meanwhile: the chain stays as it is. Fit it again when you are ready.';
const isOvertaken = (error: unknown): boolean => error instanceof DOMException && error.message === CHANGED;

/**
 * Fits the presets that lie on these paths to what comes to each over the section in loop, else the song, one after the
 * other, each as soon as what comes to it is rendered. Undone in one step with what laid them, if that was the same gesture.
 * Any other edit, undo or redo meanwhile ends it, and that is told: what is fitted was asked of the session before, and would take away
 * what can be redone. Gives what is to be told of it; '' for nothing.
 */
export const fitPresets = async (
  bench: Bench,
  paths: readonly string[],
  label: string,
  gesture: string,
): Promise<string> => {
  const place = fitPlace(bench);
  const fits: string[][] = [];
  let goesOn = true;
  await bench.attempt('sound', async () => {
    try {
      for (const path of paths) {
        const words = await fitOne(bench, path, label, gesture);
        if (words) fits.push(words);
      }
    } catch (error) {
      goesOn = !isOvertaken(error);
      throw error;
    }
  });
  if (goesOn) bench.settle();
  else bench.tell(OVERTAKEN, 'edits');
  if (!goesOn || fits.length === 0) return '';
  return `Fitted to the sound over ${place}.${fits.length > 1 ? '' : ` ${fits[0]!.join('; ')}.`}`;
};
