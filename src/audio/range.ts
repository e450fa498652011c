/** A time range of the song, seconds. */
export interface Range {
  readonly startSeconds: number;
  readonly endSeconds: number;
}
