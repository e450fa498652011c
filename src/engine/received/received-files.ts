/** The files of a song as they came: tracks in the order of the session, by the path that it calls them, and the rough. */
export interface ReceivedFiles {
  readonly tracks: readonly (readonly [path: string, file: Blob])[];
  readonly rough: readonly [path: string, file: Blob] | null;
}
