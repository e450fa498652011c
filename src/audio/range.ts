/** A stretch of the song. */
export interface Range {
  readonly startSeconds: number;
  readonly endSeconds: number;
}
