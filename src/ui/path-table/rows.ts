/** Heights that the rows and the river share, px: lower where the window is, as all paths of a song should be in sight at once. */
export const rowHeight = (windowHeight: number): number => (windowHeight < 760 ? 25 : windowHeight < 840 ? 26 : 30);
export const headingHeight = (windowHeight: number): number => (windowHeight < 760 ? 24 : 28);
export const RIVER_WIDTH = 48;

/**
 * Arrow keys in the table: from a button to the button in the same column one row up or down. Rows without one there
 * are passed over. Returns true when the focus moved.
 */
export const moveBetweenRows = (from: HTMLElement, step: 1 | -1): boolean => {
  const cell = from.closest('td');
  const table = from.closest('table');
  if (!cell || !table) return false;
  const place = [...cell.querySelectorAll('button')].indexOf(from as HTMLButtonElement);
  const rows = [...table.rows];
  for (let at = rows.indexOf(cell.parentElement as HTMLTableRowElement) + step; rows[at]; at += step) {
    const buttons = rows[at]!.cells[cell.cellIndex]?.querySelectorAll('button') ?? [];
    const target = buttons[Math.min(place, buttons.length - 1)];
    if (rows[at]!.cells.length === (cell.parentElement as HTMLTableRowElement).cells.length && target) {
      target.focus();
      return true;
    }
  }
  return false;
};
