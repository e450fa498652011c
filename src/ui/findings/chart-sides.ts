import type { Figures } from '../../measure/figures.ts';

/** What a chart of the mix against its reference is given. */
export interface ChartSides {
  reference: Figures;
  mix: Figures;
  referenceName: string;
}
