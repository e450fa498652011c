import { described, listed, ProblemError } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';
import { hasVocals, leadsOf, VARIANTS } from '../../session/passes/variants.ts';
import { checkTemplate } from './print-names.ts';
import type { PrintOrder } from './print-order.ts';
import { SHAPED_RATES } from './quantise.ts';

/** Names, in the command line or a script, of the fields of an order that can be wrong for a session. */
export type OrderFields = Readonly<
  Record<'without' | 'pairs' | 'kinds' | 'form' | 'shaped' | 'names' | 'targets' | 'pass', string>
>;

type Refuse = (path: string, expected: string, found: string) => never;

const refuse: Refuse = (path, expected, found) => {
  throw new ProblemError({ code: 'mismatch', path, expected, found });
};

const requireIds = (ids: readonly string[], known: readonly string[], what: string, field: string): void => {
  const unknown = ids.find((id) => !known.includes(id));
  if (unknown === undefined) return;
  const expected = `ids of ${what}, separated by commas: ${known.join(', ')}`;
  throw new ProblemError({ code: 'unknown-name', path: field, expected, found: described(unknown) });
};

const requireVocals = (session: Session, { kinds }: PrintOrder): void => {
  for (const kind of VARIANTS) {
    if (!kinds.includes(kind)) continue;
    const expected = `at least one group with "vocal": true for a print of kind "${kind}"`;
    if (!hasVocals(session)) refuse('groups of the session', expected, 'none');
    if (kind === 'without-lead' && leadsOf(session).length === 0)
      refuse(
        'groups of the session',
        'a vocal group other than backing vocals for a print without lead',
        'backing vocals only',
      );
  }
};

const requireForm = (session: Session, { form, bits, shaped, rate }: PrintOrder, fields: OrderFields): void => {
  if (form === 'flac' && bits === '32f') refuse(fields.form, '16 or 24 bits for FLAC, which has no floats', '32f');
  const hz = rate ?? session.sampleRate;
  if (shaped !== true || (bits === '16' && SHAPED_RATES.includes(hz))) return;
  const expected = `16 bits at ${SHAPED_RATES.join(' or ')} Hz, for which the noise shaping is designed`;
  refuse(fields.shaped, expected, `${bits} at ${hz} Hz`);
};

/**
 * Checks before long work that an order fits a session.
 * @throws ProblemError naming the first field that does not fit
 */
export const requireFit = (session: Session, order: PrintOrder, fields: OrderFields): void => {
  const { without = [], pairs = [], targets = [], names = null, pass = null, kinds } = order;
  const groups = session.groups.map(({ id }) => id);
  requireIds(without, groups, 'groups', fields.without);
  requireIds(pairs, [...groups, ...session.buses.map(({ id }) => id)], 'groups and buses', fields.pairs);
  if (pass !== null)
    requireIds(
      [pass],
      session.passes.map(({ id }) => id),
      'passes',
      fields.pass,
    );
  if (kinds.length + without.length + pairs.length === 0) refuse(fields.kinds, 'something to print', 'nothing');
  requireVocals(session, order);
  requireForm(session, order, fields);
  if (names !== null) checkTemplate(names, fields.names, targets.length > 1);
  const twice = targets.find(
    ({ name }, n) => targets.findIndex((other) => other.name.toLowerCase() === name.toLowerCase()) < n,
  );
  if (twice)
    refuse(fields.targets, `each target once (${listed(targets.map(({ name }) => name))})`, described(twice.name));
};
