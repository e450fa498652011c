import { filesOfPasses } from '../session/passes.ts';
import type { Session } from '../session/schema.ts';
import { namedFiles } from '../session/sound-files.ts';

/** Files that the mix in hand names. */
export const filesOf = (session: Session): ReadonlySet<string> => new Set(namedFiles(session).map(({ file }) => file));

/** Files that a session names, its passes too: of these sounds are kept. */
export const filesToKeep = (session: Session): ReadonlySet<string> =>
  new Set([...filesOf(session), ...filesOfPasses(session)]);
