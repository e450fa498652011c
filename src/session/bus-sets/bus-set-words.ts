import type { LaidBusSet } from './lay-bus-set.ts';

const fedByWords = (fedBy: readonly string[], groups: number): string => {
  if (fedBy.length === 0) return '';
  return fedBy.length === groups && groups > 2 ? ' from all groups' : ` from ${fedBy.join(' + ')}`;
};

/**
 * Lines that describe adding a bus set to a session: the buses with what feeds them, and those left out with the
 * reason.
 */
export const layingWords = ({ session, laid, leftOut }: LaidBusSet): string[] => {
  const lays = laid.map(({ name, fedBy }) => `${name}${fedByWords(fedBy, session.groups.length)}`);
  const leaves = leftOut.map(({ name, reason }) => `${name} (${reason})`);
  return [
    ...(lays.length > 0 ? [`Adds: ${lays.join('; ')}.`] : []),
    ...(leaves.length > 0 ? [`Leaves out: ${leaves.join('; ')}.`] : []),
  ];
};
