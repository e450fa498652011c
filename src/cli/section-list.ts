import { described, ProblemError } from '../session/problem.ts';
import type { NamedSpan } from './named-span.ts';
import { readText } from './read-text.ts';

const OPTION = '--sections';
const LIST = /^[^:,]+:[^,]*(,|$)/;
const SPAN = /^([^:]+):([\d:.]+)-([\d:.]+)$/;
const TIME = /^(?:(\d+):)?(\d+(?:\.\d+)?)$/;

/** Sections from the option: "verse:0-15.5,chorus:1:10-1:30", or a session file that has some. */
export const sectionsFrom = async (text: string): Promise<NamedSpan[]> => {
  if (LIST.test(text)) return text.split(',').map(spanFrom);
  // Loaded here, as most measuring goes without.
  const { parseSession } = await import('../session/read/parse.ts');
  const { sections } = parseSession(await readText(text), text);
  if (sections.length > 0) return sections;
  const expected = 'a session with at least one section';
  throw new ProblemError({ code: 'out-of-range', path: `${text}: sections`, expected, found: 'an empty list' });
};

const spanFrom = (text: string): NamedSpan => {
  const [, name, start, end] = SPAN.exec(text.trim()) ?? [];
  const startSeconds = secondsFrom(start);
  const endSeconds = secondsFrom(end);
  if (name !== undefined && endSeconds > startSeconds) return { name, startSeconds, endSeconds };
  const expected = 'name:start-end with times in seconds or m:ss, the end after the start';
  throw new ProblemError({ code: 'wrong-type', path: OPTION, expected, found: described(text) });
};

/** Seconds, or minutes and seconds as "1:30"; NaN: neither. */
export const secondsFrom = (text = ''): number => {
  const [, minutes = '0', seconds] = TIME.exec(text) ?? [];
  return seconds === undefined ? NaN : 60 * Number(minutes) + Number(seconds);
};
