/** One path in the river: how much of the mix it brings, 1 is all of it; below 0 it takes away. */
export interface Tributary {
  readonly id: string;
  readonly share: number;
  readonly hue: string;
}

/** The bed that a tributary takes in the river, px from the left; `right` less `left` is as wide as its share. */
export interface Bed extends Tributary {
  readonly left: number;
  readonly right: number;
}

/** No stream is thinner than this, px. */
const THINNEST = 1;

/**
 * Beds of all tributaries in a river of `width`, from the right bank inwards in the order given, so that none crosses
 * another. What takes away has no bed.
 */
export const bedsOf = (tributaries: readonly Tributary[], width: number): Bed[] => {
  const bringing = tributaries.filter(({ share }) => share > 0);
  const whole = Math.max(
    1,
    bringing.reduce((sum, { share }) => sum + share, 0),
  );
  let right = width;
  return bringing.map((tributary) => {
    const left = Math.max(0, right - Math.max(THINNEST, (tributary.share / whole) * width));
    const bed = { ...tributary, left, right };
    right = left;
    return bed;
  });
};

/** The radius of the bend on its inner side, px. */
const BEND = 5;

/** A tributary's way through its own row: in from the left at half height, round the bend, down to the row's end. */
export const joiningPath = ({ left, right }: Bed, rowHeight: number): string => {
  const thick = Math.min(right - left, rowHeight - 8);
  const top = (rowHeight - thick) / 2;
  const bottom = top + thick;
  const inner = Math.min(BEND, left, rowHeight - bottom);
  const outer = Math.min(inner + thick, right, rowHeight - top);
  return [
    `M0 ${top}H${right - outer}Q${right} ${top} ${right} ${top + outer}V${rowHeight}`,
    `H${left}V${bottom + inner}Q${left} ${bottom} ${left - inner} ${bottom}H0Z`,
  ].join('');
};

/** What the river shows in one row. */
export interface Reach {
  /** Those that have joined in the rows above. */
  readonly passing: readonly Bed[];
  /** The one that joins here; null: the row brings nothing. */
  readonly joining: Bed | null;
}

/** The reach of each row, in order: `tributaries` holds one a row. */
export const reachesOf = (tributaries: readonly Tributary[], width: number): Reach[] => {
  const beds = bedsOf(tributaries, width);
  let joined = 0;
  return tributaries.map(({ id }) => {
    const passing = beds.slice(0, joined);
    const joining = beds[joined]?.id === id ? beds[joined]! : null;
    if (joining) joined++;
    return { passing, joining };
  });
};
