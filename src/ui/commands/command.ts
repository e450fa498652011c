/** Something that can be done by its name. */
export interface Command {
  readonly id: string;
  readonly label: string;
  /** What kind of thing it is, or what it does beyond its name. */
  readonly about: string;
  /** Keys that do the same. */
  readonly keys?: string;
  readonly run: () => void;
}

/** So many are shown. */
const SHOWN = 40;

/** How well a word fits: 3 the whole label begins with it, 2 a word of it, 1 it stands within, 0.5 in what it is about; 0 not at all. */
const fitOf = (word: string, label: string, about: string): number => {
  if (label.startsWith(word)) return 3;
  if (label.split(/[\s(/]+/).some((part) => part.startsWith(word))) return 2;
  if (label.includes(word)) return 1;
  return about.includes(word) ? 0.5 : 0;
};

/** The commands that hold every word, in any order: the best first, then the shortest. Without words: all, as they are given. */
export const searched = (commands: readonly Command[], words: string): Command[] => {
  const each = words.toLowerCase().split(/\s+/).filter(Boolean);
  if (each.length === 0) return commands.slice(0, SHOWN);
  return commands
    .map((command) => {
      const [label, about] = [command.label.toLowerCase(), command.about.toLowerCase()];
      const fits = each.map((word) => fitOf(word, label, about));
      return { command, fit: fits.some((fit) => fit === 0) ? 0 : fits.reduce((sum, fit) => sum + fit, 1) };
    })
    .filter(({ fit }) => fit > 0)
    .toSorted((a, b) => b.fit - a.fit || a.command.label.length - b.command.label.length)
    .slice(0, SHOWN)
    .map(({ command }) => command);
};
