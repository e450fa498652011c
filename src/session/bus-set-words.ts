import type { LaidBusSet } from './lay-bus-set.ts';

const fedByWords = (fedBy: readonly string[], groups: number): string => {
  if (fedBy.length === 0) return '';
  return fedBy.length === groups && groups > 2 ? ' from all groups' : ` from ${fedBy.join(' + ')}`;
};

/** What laying a bus set over a session does, a line each: what is laid and what feeds it, and what is left out and why. */
export const layingWords = ({ session, laid, leftOut }: LaidBusSet): string[] => {
  const lays = laid.map(({ name, fedBy }) => `${name}${fedByWords(fedBy, session.groups.length)}`);
  const leaves = leftOut.map(({ name, reason }) => `${name} (${reason})`);
  return [
    ...(lays.length > 0 ? [`Adds: ${lays.join('; ')}.`] : []),
    ...(leaves.length > 0 ? [`Leaves out: ${leaves.join('; ')}.`] : []),
  ];
};
