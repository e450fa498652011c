/** Folders that say what is in them and not which song it is. */
const PLAIN =
  /^(tracks?|takes?|stems?|multi-?tracks?|audio( files?)?|wavs?|files?|export(s|ed)?|bounces?|mix(down)?|raw|session|\.+|)$/i;

/** The song's name by the folders that its files lie in, outermost first: the innermost that is called more than "tracks"; null: none. */
export const songName = (folders: readonly string[]): string | null =>
  folders.findLast((name) => !PLAIN.test(name.trim()))?.trim() ?? null;
