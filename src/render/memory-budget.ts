// How much sound the app keeps beside that of the current song. All of it is counted in bytes of samples.

/** Strips that no longer belong to what is in hand: what was replaced last, so that an undo need not render again. */
export const SPARE_STRIP_BYTES = 128_000_000;
