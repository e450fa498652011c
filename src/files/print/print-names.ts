import { listed, ProblemError } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';

/** Names that some systems keep for devices, with any ending. */
const RESERVED = /^(con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³])(?=\.|$)/i;

/**
 * Longest name without its ending, bytes of UTF-8: file systems take 255, and endings, "recall sheet" and the mark of a file that is being
 * written need up to 50.
 */
const LONGEST = 200;

/** The beginning of a text that takes no more than so many bytes; no letter is cut. */
const cutTo = (text: string, bytes: number): string => {
  const letters = [...text];
  while (new TextEncoder().encode(letters.join('')).length > bytes) letters.pop();
  return letters.join('');
};

/**
 * Words as a file name that every system takes: without signs that some refuse, without dots or blanks at the ends, no name of a
 * device, and not too long.
 */
export const fileWords = (words: string, fallback: string, longest = LONGEST): string => {
  const plain = words
    .normalize('NFC')
    .replace(/[\p{Cc}\p{Cs}\\/:*?"<>|]/gu, ' ')
    .replace(/\s+/g, ' ')
    .replace(/^[ .]+/, '');
  const safe = cutTo(plain, longest)
    .replace(RESERVED, '$1_')
    .replace(/[ .]+$/, '');
  return safe === '' ? fallback : safe;
};

/** Whether every system takes a path's names as they are. */
export const isTakenEverywhere = (path: string): boolean =>
  path.split('/').every((part) => part !== '' && fileWords(part, '') === part.normalize('NFC'));

/** Names of what is printed of a session, without ending; none is given twice. */
export const printNames = ({ title, groups, buses }: Session): { main: string; stems: ReadonlyMap<string, string> } => {
  const main = fileWords(title, 'mix');
  const words = stemWords({ groups, buses });
  return { main, stems: new Map([...words].map(([id, word]) => [id, `${main} - ${word}`])) };
};

/** What stems are called by the id of their path; none is given twice. */
export const stemWords = ({ groups, buses }: Pick<Session, 'groups' | 'buses'>): ReadonlyMap<string, string> => {
  const taken = new Set<string>();
  const words = [...groups, ...buses].map(({ id, name }) => {
    const word = fileWords(name, id);
    const free = taken.has(word.toLowerCase()) ? `${word} (${id})` : word;
    taken.add(free.toLowerCase());
    return [id, free] as const;
  });
  return new Map(words);
};

/** What a name can tell of a file; an empty text where there is nothing to tell. */
export interface NameFacts {
  readonly title: string;
  readonly artist: string;
  /** "main", "instrumental", "Drums". */
  readonly kind: string;
  readonly pass: string;
  readonly section: string;
  readonly target: string;
  /** 2026-12-01. */
  readonly date: string;
  /** "48 kHz". */
  readonly rate: string;
  /** "24 bit". */
  readonly bits: string;
  /** "-14.0 LUFS", as the file measures. */
  readonly loudness: string;
}

export const NAME_FACTS = [
  ...(['title', 'artist', 'kind', 'pass', 'section', 'target', 'date', 'rate', 'bits', 'loudness'] as const),
];

const TOKEN = /\{([^{}]*)\}/g;

/** Longest template, letters. */
export const LONGEST_TEMPLATE = 120;

/** @throws ProblemError for a template that names something else, or does not tell files apart */
export const checkTemplate = (template: string, where: string, manyTargets: boolean): void => {
  const named = [...template.matchAll(TOKEN)].map(([, token]) => token!);
  const refuse = (expected: string, found: string): never => {
    throw new ProblemError({ code: 'out-of-range', path: where, expected, found });
  };
  const unknown = named.find((token) => !(NAME_FACTS as readonly string[]).includes(token));
  if (unknown !== undefined)
    refuse(`words and ${listed(NAME_FACTS.map((fact) => `{${fact}}`))}`, JSON.stringify(`{${unknown}}`));
  if (template.length > LONGEST_TEMPLATE) refuse(`${LONGEST_TEMPLATE} letters at most`, `${template.length}`);
  for (const token of ['kind', ...(manyTargets ? ['target'] : [])])
    if (!named.includes(token)) refuse(`a template with {${token}}, so that files differ`, JSON.stringify(template));
};

/** What a file is called after without a template: "Song - pass 2 - Chorus - instrumental - broadcast", without "main". */
const usual = ({ title, pass, section, kind, target }: NameFacts): string =>
  [title, pass, section, kind === 'main' ? '' : kind, target].filter((word) => word !== '').join(' - ');

/** The name of a file, without ending. What a template names and there is nothing to tell of goes with the signs before it. */
export const nameOf = (template: string | null, facts: NameFacts): string => {
  if (template === null) return fileWords(usual(facts), 'mix');
  const filled = template
    .replace(/[\s_-]*\{([^{}]*)\}/g, (all, token: keyof NameFacts) => {
      const value = facts[token];
      return value === '' ? '' : `${all.slice(0, all.lastIndexOf('{'))}${value}`;
    })
    .replace(/^[\s_-]+/, '');
  return fileWords(filled, 'mix');
};

/** Gives out names, none twice, whatever their letters' case. */
export class FreeNames {
  private readonly taken = new Set<string>();

  /** The name, or the same with a number after it. */
  take(name: string): string {
    for (let n = 1; ; n++) {
      const free = n === 1 ? name : `${name} (${n})`;
      const key = free.toLowerCase();
      if (this.taken.has(key)) continue;
      this.taken.add(key);
      return free;
    }
  }
}
