export interface Box {
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
}

const GAP = 4;
const MARGIN = 8;

/** Where a popover goes: under what opened it, or over it when there is more room, always wholly in the window. */
export const placeBeside = (
  opener: Box,
  size: { readonly width: number; readonly height: number },
  view: { readonly width: number; readonly height: number },
): { readonly left: number; readonly top: number } => {
  const below = view.height - (opener.top + opener.height) - GAP - MARGIN;
  const above = opener.top - GAP - MARGIN;
  const goesBelow = size.height <= below || below >= above;
  const top = goesBelow ? opener.top + opener.height + GAP : opener.top - GAP - size.height;
  return {
    left: Math.max(MARGIN, Math.min(opener.left, view.width - size.width - MARGIN)),
    top: Math.max(MARGIN, Math.min(top, view.height - size.height - MARGIN)),
  };
};
