/** One thing that can be chosen from a list. */
export interface Choice {
  readonly id: string;
  readonly label: string;
  readonly about: string;
  /** More that should be known of it, a line each. */
  readonly notes?: readonly string[];
  /** It can be read of, but not chosen. */
  readonly disabled?: boolean;
}
