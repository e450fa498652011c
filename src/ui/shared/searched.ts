/** Something that is found by its name, or by what it is about. */
export interface Searchable {
  readonly label: string;
  readonly about: string;
}

/** How well a word fits: 3 the whole label begins with it, 2 a word of it, 1 it stands within, 0.5 in what it is about; 0 not at all. */
const fitOf = (word: string, label: string, about: string): number => {
  if (label.startsWith(word)) return 3;
  if (label.split(/[\s(/]+/).some((part) => part.startsWith(word))) return 2;
  if (label.includes(word)) return 1;
  return about.includes(word) ? 0.5 : 0;
};

/** Those that hold every word, in any order; the best first, those alike by the length of their labels. All as they are given without words. */
export const searched = <T extends Searchable>(all: readonly T[], words: string): readonly T[] => {
  const each = words.toLowerCase().split(/\s+/).filter(Boolean);
  if (each.length === 0) return all;
  return all
    .map((one) => {
      const [label, about] = [one.label.toLowerCase(), one.about.toLowerCase()];
      const fits = each.map((word) => fitOf(word, label, about));
      return { one, fit: fits.some((fit) => fit === 0) ? 0 : fits.reduce((sum, fit) => sum + fit, 1) };
    })
    .filter(({ fit }) => fit > 0)
    .toSorted((a, b) => b.fit - a.fit || a.one.label.length - b.one.label.length)
    .map(({ one }) => one);
};
