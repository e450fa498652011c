import type { DirectMoves } from '../../audition/live-messages.ts';
import { preFader, type PlanMixBus } from '../../render/plan/plan.ts';
import { planMixBus } from '../../render/plan/plan-mix-bus.ts';
import { chainsOf, PlannedLines } from '../../render/plan/planned-lines.ts';
import { preparedChain } from '../../render/plan/prepared-chain.ts';
import { processorItems } from '../../session/chain/chain-items.ts';
import { MIX_BUS } from '../../session/lines/controls.ts';
import type { ChainItems, Session } from '../../session/schema.ts';

/** Chains that use sound files are left to the worker, which has the files. */
const hasSound = (chain: ChainItems): boolean => processorItems(chain).some(({ sound }) => sound !== undefined);

/** True if lines and what they depend on are unchanged: only settings were moved. */
const hasSameTimes = (a: Session, b: Session): boolean =>
  a.lines === b.lines &&
  a.tempo === b.tempo &&
  a.meter === b.meter &&
  a.tempoChanges === b.tempoChanges &&
  a.meterChanges === b.meterChanges &&
  a.sampleRate === b.sampleRate;

const NO_SOUNDS = new Map<string, never>();

/** Chains of strips that an edit changed, planned as in the worker; empty where only the worker can plan them. */
export const chainsMoved = (before: Session, after: Session): DirectMoves['chains'] => {
  if (!hasSameTimes(before, after)) return [];
  const known = new Map(chainsOf(before));
  const moved = chainsOf(after).filter(
    ([of, chain]) => of !== MIX_BUS && chain !== known.get(of) && known.has(of) && !hasSound(chain),
  );
  if (moved.length === 0) return [];
  const lines = new PlannedLines(after);
  return moved.flatMap(([of, chain]) => {
    const { steps } = preparedChain(chain, after, NO_SOUNDS, lines.chain(of));
    return [[of, steps] as const, [preFader(of), steps] as const];
  });
};

/** The mix bus, where an edit changed it and it uses no sound file; null: the worker sends it. */
export const mixBusMoved = (before: Session, after: Session): PlanMixBus | null => {
  const { mixBus } = after;
  if (mixBus === before.mixBus || !hasSameTimes(before, after) || hasSound(mixBus.chain)) return null;
  return planMixBus(after, new PlannedLines(after), NO_SOUNDS).mixBus;
};
