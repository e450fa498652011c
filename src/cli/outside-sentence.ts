/** What whoever opens a session that was written elsewhere must know. */
export const outsideSentence = (out: string): string =>
  `${out} names sound files outside of its folder: run commands on it from a folder above both, or with --allow-outside.`;
