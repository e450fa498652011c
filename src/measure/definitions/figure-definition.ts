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

/** What a newcomer asks of a figure beside what it is. */
export interface FigureAdvice {
  /** What makes it larger or smaller. */
  readonly moves: string;
  /** Values that are usual. */
  readonly usual: string;
  /** Where these are from: a publication, or common practice. */
  readonly source: string;
}

/**
 * Definition of one figure: texts, unit and range for screen, report, command line and documents, and how the solver
 * uses it.
 */
export interface FigureDefinition {
  readonly label: string;
  /** The label where room is narrow; absent: as the label. */
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
  /** Digits after the point worth showing. */
  readonly decimals: number;
  /**
   * What is needed for a blend besides the Gram products: energies of every 10 ms ("loudest"), or single samples
   * ("peaks").
   */
  readonly needs?: 'loudest' | 'peaks';
  /** Least and greatest value that a search for blends can aim at; absent: no end. */
  readonly least?: number;
  readonly most?: number;
  /** True for counts and incidental figures, which the solver offers no target for. */
  readonly notSearched?: true;
  readonly places?: readonly FigurePlace[];
  /** Drawn along a sweep, on a chart at least so high, in the unit: a steady figure is not to look like a mountain. */
  readonly sweepSpan?: number;
  /** Its curve along a sweep is looked at for a knee. */
  readonly knee?: true;
  /** Every figure that the screen shows has some. */
  readonly advice?: FigureAdvice;
}

/** A change of a figure: levels in LUFS, dBTP and dBFS change by LU and dB. */
export const unitOfChange = ({ unit }: Pick<FigureDefinition, 'unit'>): string =>
  unit === 'LUFS' ? 'LU' : unit === 'dBTP' || unit === 'dBFS' ? 'dB' : unit;

/** The label that fits a narrow column. */
export const shortLabel = ({ label, short }: Pick<FigureDefinition, 'label' | 'short'>): string => short ?? label;
