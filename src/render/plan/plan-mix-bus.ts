import type { StereoSound } from '../../audio/audio.ts';
import { MIX_BUS } from '../../session/lines/controls.ts';
import type { Session } from '../../session/schema.ts';
import type { PlanMixBus } from './plan.ts';
import { gainAndMoves, type PlannedLines } from './planned-lines.ts';
import { preparedChain } from './prepared-chain.ts';

/** The mix bus of a session, and the tail of its chain, frames; `sounds` as `makePlan` takes them. */
export const planMixBus = (
  session: Session,
  lines: PlannedLines,
  sounds: ReadonlyMap<string, StereoSound>,
): { readonly mixBus: PlanMixBus; readonly tail: number } => {
  const { steps, tail } = preparedChain(session.mixBus.chain, session, sounds, lines.chain(MIX_BUS));
  const { gain: trimGain, moving } = gainAndMoves(lines.setting({ of: MIX_BUS, what: 'trim' }, session.mixBus.trimDb));
  return { mixBus: { trimGain, ...(moving && { moving }), steps }, tail };
};
