import { requireConsistent } from '../edits/edit-tools.ts';
import { freeId } from '../ids.ts';
import type { Session, Trial } from '../schema.ts';

/** A blind trial as it is planned: everything but its answers is fixed before the first sound. */
export type TrialPlan = Omit<Trial, 'id' | 'answers'>;

/** Adds a blind trial to the log, finished or not; one that was broken off has fewer answers than were planned. */
export const logTrial = (session: Session, plan: TrialPlan, answers: Trial['answers']): Session => {
  const id = freeId('trial', new Set(session.trials.map((trial) => trial.id)));
  return requireConsistent({ ...session, trials: [...session.trials, { id, ...plan, answers }] });
};

/** What a side of a trial is called in a text; one that is gone since by its id. */
export const sideWords = ({ passes, groups, buses }: Session, side: Trial['a']): string => {
  const [kind, id] = side.split(':');
  if (kind === 'rough') return 'the rough';
  if (kind === 'received') return 'the tracks as received';
  if (kind === 'mix') return 'the mix';
  const named = [...(kind === 'pass' ? passes : [...groups, ...buses])].find((each) => each.id === id)?.name ?? id!;
  return kind === 'pass' ? `the pass ${named}` : `the mix without ${named}`;
};
