import { dsvFormat } from 'd3-dsv';
import { answersIn, isAnswersText } from './approval-answers.ts';
import type { NewClientNote } from '../../session/client-notes.ts';
import { described, ProblemError } from '../../session/problem.ts';
import type { Section, Session } from '../../session/schema.ts';

// Client notes as they come in: lines of a letter, or a table with a heading.

const TIME = /^(?:(\d{1,2}):)?(\d{1,3}):([0-5]?\d(?:[.,]\d+)?)$/;

/** "1:23", "1:02:03.5" or plain seconds, as seconds; null: it is no time. */
const secondsIn = (text: string): number | null => {
  const match = TIME.exec(text.trim());
  if (match) return 3600 * Number(match[1] ?? 0) + 60 * Number(match[2]) + Number(match[3]!.replace(',', '.'));
  return /^\d+(?:[.,]\d+)?$/.test(text.trim()) ? Number(text.trim().replace(',', '.')) : null;
};

const CLOCK = String.raw`(?:\d{1,2}:)?\d{1,3}:[0-5]?\d(?:[.,]\d+)?(?![\d:])`;
const AT = new RegExp(
  String.raw`^[[(]?(${CLOCK})(?:\s*(?:-|–|—|to|until)\s*(${CLOCK}))?[\])]?\s*[:.,;–—-]?\s*(.*)$`,
  'i',
);
/** "1:23", "0:45-1:02", or empty for the whole song. null: not readable. */
export const placeIn = (typed: string): Omit<NewClientNote, 'text'> | null => {
  if (typed.trim() === '') return { startSeconds: null, endSeconds: null };
  const match = AT.exec(`${typed.trim()} x`);
  if (match?.[3] !== 'x') return null;
  const [startSeconds, endSeconds] = [secondsIn(match[1]!)!, match[2] === undefined ? null : secondsIn(match[2])!];
  return endSeconds !== null && endSeconds <= startSeconds ? null : { startSeconds, endSeconds };
};

const BULLET = /^(?:[-*•–]\s+|\d{1,3}[.)]\s+)/;

const whole = (text: string): NewClientNote => ({ text, startSeconds: null, endSeconds: null });

const over = (text: string, { startSeconds, endSeconds }: Section): NewClientNote => ({
  text,
  startSeconds,
  endSeconds,
});

/** A line that begins with the name of a section and a colon is about that section. */
const ofSection = (line: string, sections: readonly Section[]): NewClientNote | null => {
  const colon = line.indexOf(':');
  const named = line.slice(0, colon).trim().toLowerCase();
  const section = colon > 0 ? sections.find(({ name }) => name.toLowerCase() === named) : undefined;
  const text = line.slice(colon + 1).trim();
  return section && text !== '' ? over(text, section) : null;
};

const noteOfLine = (line: string, sections: readonly Section[]): NewClientNote => {
  const match = AT.exec(line);
  if (!match || match[3]!.trim() === '') return ofSection(line, sections) ?? whole(line);
  const startSeconds = secondsIn(match[1]!)!;
  const endSeconds = match[2] === undefined ? null : secondsIn(match[2])!;
  return {
    text: match[3]!.trim(),
    startSeconds,
    endSeconds: endSeconds !== null && endSeconds > startSeconds ? endSeconds : null,
  };
};

/** Accepted headings of columns. */
const COLUMNS = {
  start: ['time', 'start', 'from', 'at', 'timestamp', 'seconds'],
  end: ['end', 'to', 'until'],
  section: ['section', 'part'],
  text: ['note', 'notes', 'text', 'comment', 'comments', 'request'],
} as const;

type Column = keyof typeof COLUMNS;

/** A table with a heading that names a column of text; null: it is none. */
const tableIn = (
  text: string,
): { readonly rows: readonly string[][]; readonly column: (name: Column) => number } | null => {
  const first = text.trimStart().split(/\r?\n/, 1)[0]!;
  for (const delimiter of [',', ';', '\t']) {
    if (!first.includes(delimiter)) continue;
    const [heading = [], ...rows] = dsvFormat(delimiter).parseRows(text.trim());
    const names = heading.map((name) => name.trim().toLowerCase());
    const column = (name: Column): number =>
      names.findIndex((each) => (COLUMNS[name] as readonly string[]).includes(each));
    if (column('text') >= 0) return { rows, column };
  }
  return null;
};

const noteOfRow = (
  row: readonly string[],
  place: string,
  column: (name: Column) => number,
  sections: readonly Section[],
): NewClientNote[] => {
  const cell = (name: Column): string => row[column(name)]?.trim() ?? '';
  const text = cell('text');
  if (text === '') return [];
  const timeIn = (name: 'start' | 'end'): number | null => {
    const words = cell(name);
    const seconds = words === '' ? null : secondsIn(words);
    if (words !== '' && seconds === null) {
      const expected = 'a time as m:ss, h:mm:ss or seconds';
      throw new ProblemError({ code: 'mismatch', path: `${place}, ${name}`, expected, found: described(words) });
    }
    return seconds;
  };
  const [startSeconds, endSeconds] = [timeIn('start'), timeIn('end')];
  const section = sections.find(({ name }) => name.toLowerCase() === cell('section').toLowerCase());
  if (startSeconds === null) return [section ? over(text, section) : whole(text)];
  return [{ text, startSeconds, endSeconds: endSeconds !== null && endSeconds > startSeconds ? endSeconds : null }];
};

/**
 * Client notes out of text: a table (comma, semicolon or tab between; a heading with "note" and, as far as they are there, "time", "end",
 * "section"), else a note a line, which may begin with a time ("1:23 …", "0:45-1:02 …") or with the name of a section and a colon.
 * The answers that an approval page saved are notes too.
 * @throws ProblemError for a table whose times cannot be read, and where there is no note
 */
export const clientNotesIn = (
  text: string,
  session: Pick<Session, 'sections' | 'passes'>,
  path: string,
): NewClientNote[] => {
  if (isAnswersText(text)) return answersIn(text, session, path);
  const { sections } = session;
  const table = tableIn(text.replace(/^\uFEFF/, ''));
  const notes = table
    ? table.rows.flatMap((row, n) => noteOfRow(row, `${path}: row ${n + 2}`, table.column, sections))
    : text
        .replace(/^\uFEFF/, '')
        .split(/\r?\n/)
        .map((line) => line.trim().replace(BULLET, ''))
        .filter((line) => line !== '')
        .map((line) => noteOfLine(line, sections));
  if (notes.length === 0)
    throw new ProblemError({ code: 'mismatch', path, expected: 'at least one note', found: 'none' });
  return notes.map((note) => ({ ...note, text: note.text.slice(0, 2000) }));
};
