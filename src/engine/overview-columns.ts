/** Lowest and highest sample of each column of the overview, full scale 1. */
export interface Overview {
  readonly min: Float32Array;
  readonly max: Float32Array;
  readonly secondsPerColumn: number;
  /** Where it begins; absent: at the start of the song. */
  readonly startSeconds?: number;
}
