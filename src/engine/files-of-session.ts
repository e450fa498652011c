import { filesOfPasses } from '../session/passes/passes.ts';
import type { Session } from '../session/schema.ts';
import { namedFiles } from '../session/sound-files.ts';

/** Every file that the current mix names, and the rough; sounds that processors work with too. */
export const filesOf = (session: Session): string[] => [...new Set(namedFiles(session).map(({ file }) => file))];

/** The same, and files that only passes name: without them the song is whole, only those passes cannot be heard. */
export const allFilesOf = (session: Session): string[] => [
  ...new Set([...filesOf(session), ...filesOfPasses(session)]),
];
