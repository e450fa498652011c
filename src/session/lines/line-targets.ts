import { chainOf } from '../chain/chain-edits.ts';
import { itemNames } from '../chain/chain-words.ts';
import type { ProcessorItem, Session } from '../schema.ts';
import { itemOfTarget, stillness, targetsOf, targetText } from './controls.ts';
import type { LineTarget } from './line-schema.ts';
import { controlTitle } from './line-words.ts';

/** What of a path can have a line, as a chooser lists it. */
export interface TargetGroup {
  /** Item of the chain; null: the path itself and its sends. */
  readonly item: string | null;
  readonly title: string;
  readonly choices: readonly { readonly target: LineTarget; readonly title: string }[];
}

const canMove = (session: Session, target: LineTarget): boolean =>
  target.what !== 'parameter' ||
  stillness(itemOfTarget(session, target) as ProcessorItem, target.parameter!, session.sampleRate) === null;

/** All that a line can move of a track, group, bus, the mix bus or the rough: itself and its sends, then each item of its chain. */
export const targetGroupsOf = (session: Session, of: string): TargetGroup[] => {
  const targets = targetsOf(session, of).filter((target) => canMove(session, target));
  const names = itemNames(chainOf(session, of));
  const groups = [{ item: null, title: 'The path' }, ...[...names].map(([item, title]) => ({ item, title }))];
  return groups.map(({ item, title }) => ({
    ...{ item, title },
    choices: targets
      .filter((target) => (target.item ?? null) === item)
      .map((target) => {
        const title = controlTitle(session, target);
        // The item stands above it.
        if (item === null) return { target, title };
        const own = title.slice(title.indexOf(': ') + 2);
        // Some processors have a parameter of the name that the share of every item has.
        return { target, title: target.what === 'mix' ? `${own} (wet and dry)` : own };
      }),
  }));
};

export const isSameTarget = (a: LineTarget | null | undefined, b: LineTarget | null | undefined): boolean =>
  a !== null && a !== undefined && b !== null && b !== undefined && targetText(a) === targetText(b);
