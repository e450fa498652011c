import { filesOfPasses } from '../session/passes/passes.ts';
import type { Session } from '../session/schema.ts';
import { namedFiles } from '../session/sound-files.ts';

/** Every file that the current mix names: tracks, the rough, and sounds that processors use. */
export const filesOf = (session: Session): string[] => [...new Set(namedFiles(session).map(({ file }) => file))];

/** The same, plus files that only passes name: the mix does not need them, but those passes do. */
export const allFilesOf = (session: Session): string[] => [
  ...new Set([...filesOf(session), ...filesOfPasses(session)]),
];
