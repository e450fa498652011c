import type { Session } from '../../session/schema.ts';

/**
 * True if this bus has a post-fader send to another bus. The sound of that bus then depends on the blend, so blends
 * must be rendered, not only summed.
 */
export const feedsOthers = ({ buses }: Session, bus: string): boolean =>
  buses.some(
    ({ id, sends }) =>
      id === bus && sends.some(({ on, tap, to }) => on && tap === 'post-fader' && buses.some((each) => each.id === to)),
  );
