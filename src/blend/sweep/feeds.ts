import type { Session } from '../../session/schema.ts';

/**
 * True when the blend of this bus also steers how loud another bus is fed: it has a send behind its blend. Then another
 * path's sound hangs on the blend, and blends of it must be rendered, not only summed.
 */
export const feedsOthers = ({ buses }: Session, bus: string): boolean =>
  buses.some(
    ({ id, sends }) =>
      id === bus && sends.some(({ on, tap, to }) => on && tap === 'post-fader' && buses.some((each) => each.id === to)),
  );
