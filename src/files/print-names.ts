import type { Session } from '../session/schema.ts';

/** Words as part of a file name: without signs that some file system refuses, and without dots or blanks at the ends. */
const fileWords = (words: string, fallback: string): string => {
  const safe = words
    .replace(/[\p{Cc}\\/:*?"<>|]/gu, ' ')
    .replace(/\s+/g, ' ')
    .replace(/^[ .]+|[ .]+$/g, '');
  return safe === '' ? fallback : safe;
};

/** Names of what is printed of a session, without ending; none is given twice. */
export const printNames = ({ title, groups, buses }: Session): { main: string; stems: ReadonlyMap<string, string> } => {
  const main = fileWords(title, 'mix');
  const taken = new Set<string>();
  const stems = [...groups, ...buses].map(({ id, name }) => {
    const words = fileWords(name, id);
    const free = taken.has(words.toLowerCase()) ? `${words} (${id})` : words;
    taken.add(free.toLowerCase());
    return [id, `${main} - ${free}`] as const;
  });
  return { main, stems: new Map(stems) };
};
