/** The received files of a song: tracks in the order of the session, by their paths in it, and the rough. */
export interface ReceivedFiles {
  readonly tracks: readonly (readonly [path: string, file: Blob])[];
  readonly rough: readonly [path: string, file: Blob] | null;
}
