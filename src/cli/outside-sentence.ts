/** Note for a session that names files outside of its folder. */
export const outsideSentence = (out: string): string =>
  `${out} names sound files outside of its folder: run commands on it from a folder above both, or with --allow-outside.`;
