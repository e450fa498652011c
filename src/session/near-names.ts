/** Letters to put in, take out, change, or swap with the next, to come from one text to another (Damerau 1964). */
const editsBetween = (a: string, b: string): number => {
  const rows = [Array.from({ length: b.length + 1 }, (_, n) => n)];
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    for (let j = 1; j <= b.length; j++) {
      const above = rows[i - 1]!;
      const change = above[j - 1]! + (a[i - 1] === b[j - 1] ? 0 : 1);
      const swapped = i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1];
      const swap = swapped ? rows[i - 2]![j - 2]! + 1 : Infinity;
      row.push(Math.min(change, swap, above[j]! + 1, row[j - 1]! + 1));
    }
    rows.push(row);
  }
  return rows[a.length]![b.length]!;
};

const wordsOf = (text: string): string[] => text.toLowerCase().match(/[\p{L}\p{N}]+/gu) ?? [];

/** A misspelt word: off by up to a third of its letters. */
const isNear = (a: string, b: string): boolean => editsBetween(a, b) <= Math.max(a.length, b.length) / 3;

/** Words of `a` that `b` has too, or nearly. */
const sharedWords = (a: readonly string[], b: readonly string[]): number =>
  a.filter((word) => b.some((other) => isNear(word, other))).length;

interface Ranked {
  readonly each: string;
  readonly shared: number;
  readonly edits: number;
  readonly near: boolean;
}

/** All names, the one that `name` may best have been meant for first. */
const ranked = (name: string, names: readonly string[]): Ranked[] => {
  const words = wordsOf(name);
  const text = words.join(' ');
  return names
    .map((each): Ranked => {
      const own = wordsOf(each);
      const [shared, whole] = [sharedWords(words, own), own.join(' ')];
      return { each, shared, edits: editsBetween(text, whole), near: isNear(text, whole) };
    })
    .sort((a, b) => Number(b.near) - Number(a.near) || b.shared - a.shared || a.edits - b.edits);
};

/** Those of `names` that `name` may have been meant for, the nearest first: near in letters, or with a word in common. */
export const nearNames = (name: string, names: readonly string[], most = 3): string[] =>
  ranked(name, names)
    .filter(({ shared, near }) => near || shared > 0)
    .slice(0, most)
    .map(({ each }) => each);

/** The nearest of `names`, however far they are. */
export const nearestNames = (name: string, names: readonly string[], most = 3): string[] =>
  ranked(name, names)
    .slice(0, most)
    .map(({ each }) => each);
