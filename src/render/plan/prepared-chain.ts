import type { StereoSound } from '../../audio/audio.ts';
import { chainLatency, chainListensToKey, chainTail, type ChainStep } from '../../dsp/core/chain.ts';
import { processorItems } from '../../session/chain/chain-items.ts';
import type { ChainLines } from '../../session/chain/moved-settings.ts';
import type { ChainItems, Session } from '../../session/schema.ts';
import { stepsOf } from '../../session/values.ts';
import { textOf } from '../content-hash.ts';
import { chainLinesText } from './planned-lines.ts';

/** A chain of a session as a plan uses it. */
export interface PreparedChain {
  readonly steps: readonly ChainStep[];
  /** Names all that the steps do; equal text, equal sound. */
  readonly text: string;
  /** Whole samples. */
  readonly latency: number;
  /** Frames. */
  readonly tail: number;
  readonly listensToKey: boolean;
}

type Song = Pick<Session, 'tempo' | 'meter' | 'sampleRate'>;

/** The song and sounds that a chain was last prepared with. */
interface Known extends Song {
  /** Hashes of the sounds that it works with. */
  readonly sounds: string;
  /** Names the lines that it follows. */
  readonly lines: string;
  readonly prepared: PreparedChain;
}

/** Chains are never changed, only replaced: of one that an edit left alone, nothing is worked out again. */
const known = new WeakMap<ChainItems, Known>();

const soundsOf = (chain: ChainItems, sounds: ReadonlyMap<string, StereoSound>): string =>
  processorItems(chain)
    .map(({ sound }) => (sound === undefined ? '' : (sounds.get(sound)?.hash ?? '')))
    .join(' ');

/** A chain ready to run at the song's rate, tempo and meter; `sounds` by file, and its `lines`, as `stepsOf` takes them. */
export const preparedChain = (
  chain: ChainItems,
  { tempo, meter, sampleRate }: Song,
  sounds: ReadonlyMap<string, StereoSound>,
  lines?: ChainLines,
): PreparedChain => {
  const named = soundsOf(chain, sounds);
  const moved = chainLinesText(lines);
  const before = known.get(chain);
  const isSame = before?.tempo === tempo && before.meter === meter && before.sampleRate === sampleRate;
  if (isSame && before.sounds === named && before.lines === moved) return before.prepared;
  const steps = stepsOf(chain, tempo, meter, sounds, lines);
  const prepared = {
    steps,
    text: textOf(steps),
    latency: chainLatency(steps, sampleRate),
    tail: chainTail(steps, sampleRate),
    listensToKey: chainListensToKey(steps),
  };
  known.set(chain, { tempo, meter, sampleRate, sounds: named, lines: moved, prepared });
  return prepared;
};
