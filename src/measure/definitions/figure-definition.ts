/** Places that show a figure, besides the full lists, which have all of them. */
export type FigurePlace =
  /** The findings, always in view. */
  | 'findings'
  /** The findings, on demand. */
  | 'more findings'
  /** The columns of the ledger. */
  | 'ledger'
  /** The table of printed files in the report. */
  | 'files'
  /** The targets that the screen offers for the solver. */
  | 'targets';

/** Explanation of a figure for newcomers. */
interface FigureAdvice {
  /** Causes of larger and smaller values. */
  readonly moves: string;
  /** Usual values. */
  readonly usual: string;
  /** Source of the usual values: a publication, or common practice. */
  readonly source: string;
}

/**
 * Definition of one figure: texts, unit and range for screen, report, command line and documents, and how the solver
 * uses it.
 */
export interface FigureDefinition {
  readonly label: string;
  /** Short label for narrow columns; absent: as the label. */
  readonly short?: string;
  /** Empty for a plain number. */
  readonly unit: string;
  /** One sentence. */
  readonly definition: string;
  readonly source: string;
  /** Values that the figure can take. */
  readonly range: string;
  /** When the figure does not exist; "never" makes its value a number in every case. */
  readonly nullWhen: string;
  /** Decimals to show. */
  readonly decimals: number;
  /**
   * Data needed for a blend besides the Gram products: energies of every 10 ms ("loudest"), or single samples
   * ("peaks").
   */
  readonly needs?: 'loudest' | 'peaks';
  /** Least and greatest value that the solver accepts as a target; absent: no limit. */
  readonly least?: number;
  readonly most?: number;
  /** True for counts and incidental figures, which cannot be targets of the solver. */
  readonly notSearched?: true;
  readonly places?: readonly FigurePlace[];
  /** Drawn along a sweep; the least range of the chart's axis, in the unit, so that small changes look small. */
  readonly sweepSpan?: number;
  /** True if its curve along a sweep is searched for a knee. */
  readonly knee?: true;
  /** Required for every figure on the screen. */
  readonly advice?: FigureAdvice;
}

/** A change of a figure: levels in LUFS, dBTP and dBFS change by LU and dB. */
export const unitOfChange = ({ unit }: Pick<FigureDefinition, 'unit'>): string =>
  unit === 'LUFS' ? 'LU' : unit === 'dBTP' || unit === 'dBFS' ? 'dB' : unit;

/** The label that fits a narrow column. */
export const shortLabel = ({ label, short }: Pick<FigureDefinition, 'label' | 'short'>): string => short ?? label;
