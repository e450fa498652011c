/** Where a dragged item comes to stand: its place moved by whole rows, within the list. */
export const placeAfterDrag = (from: number, movedPx: number, rowHeight: number, count: number): number =>
  Math.min(count - 1, Math.max(0, from + Math.round(movedPx / rowHeight)));

/** How far an item is shown from its own place while another is dragged over it, rows. */
export const shownShift = (index: number, from: number, to: number): -1 | 0 | 1 => {
  if (index > from && index <= to) return -1;
  return index < from && index >= to ? 1 : 0;
};
