import { listed, ProblemError } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';

/** Names that some systems reserve for devices, with any ending. */
const RESERVED = /^(con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³])(?=\.|$)/i;

/**
 * Longest name without its ending, bytes of UTF-8: file systems allow 255, and endings, "recall sheet" and the mark of a file that is being
 * written need up to 50.
 */
const LONGEST = 200;

/** The beginning of a text within a limit of bytes, cut between letters. */
const cutTo = (text: string, bytes: number): string => {
  const letters = [...text];
  while (new TextEncoder().encode(letters.join('')).length > bytes) letters.pop();
  return letters.join('');
};

/**
 * Words as a file name that is valid on every system: without forbidden characters, without dots or spaces at the ends, not the name of a
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

/** Whether a path's names are valid on every system. */
export const isTakenEverywhere = (path: string): boolean =>
  path.split('/').every((part) => part !== '' && fileWords(part, '') === part.normalize('NFC'));

/** Unique names of the prints of a session, without ending. */
export const printNames = ({ title, groups, buses }: Session): { main: string; stems: ReadonlyMap<string, string> } => {
  const main = fileWords(title, 'mix');
  const words = stemWords({ groups, buses });
  return { main, stems: new Map([...words].map(([id, word]) => [id, `${main} - ${word}`])) };
};

/** Unique names of stems, by the id of their path. */
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

/** Parts of a file name; empty where they do not apply. */
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

/** @throws ProblemError for a template with unknown parts, or that gives several files one name */
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

/** The name of a file without a template: "Song - pass 2 - Chorus - instrumental - broadcast", without "main". */
const usual = ({ title, pass, section, kind, target }: NameFacts): string =>
  [title, pass, section, kind === 'main' ? '' : kind, target].filter((word) => word !== '').join(' - ');

/** The name of a file, without ending. Empty parts are removed with the characters before them. */
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

/** Gives out names, each once, regardless of case. */
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
