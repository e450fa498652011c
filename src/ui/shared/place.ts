export interface Box {
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
}

export type Size = Pick<Box, 'width' | 'height'>;

export interface Place {
  readonly left: number;
  readonly top: number;
  /** What does not fit is scrolled. */
  readonly maxHeight: number;
}

const GAP = 4;
const MARGIN = 8;
/** Higher ones are scrolled, so that what they are about stays in view, px. */
const HIGHEST = 520;

/**
 * Where a popover goes: under what opened it, or over it when there is more room, or beside it when neither is high
 * enough; in the window, and not on its opener.
 */
export const placeBeside = (opener: Box, whole: Size, view: Size): Place => {
  const size = { width: whole.width, height: Math.min(whole.height, HIGHEST) };
  const bottom = opener.top + opener.height;
  const below = view.height - bottom - GAP - MARGIN;
  const above = opener.top - GAP - MARGIN;
  const besideLeft = opener.left + opener.width + GAP;
  const isTooHigh = size.height > Math.max(below, above);
  if (isTooHigh && besideLeft + size.width <= view.width - MARGIN) {
    const maxHeight = Math.min(HIGHEST, view.height - 2 * MARGIN);
    const lowest = view.height - MARGIN - Math.min(size.height, maxHeight);
    return { left: besideLeft, top: Math.max(MARGIN, Math.min(opener.top, lowest)), maxHeight };
  }
  const goesBelow = size.height <= below || below >= above;
  const maxHeight = Math.min(HIGHEST, Math.max(0, goesBelow ? below : above));
  return {
    left: Math.max(MARGIN, Math.min(opener.left, view.width - size.width - MARGIN)),
    top: goesBelow ? bottom + GAP : opener.top - GAP - Math.min(size.height, maxHeight),
    maxHeight,
  };
};
