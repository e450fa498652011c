import { join, relative, sep } from 'node:path';
import { withFilesCalled } from '../session/edits/renamed-files.ts';
import type { Session } from '../session/schema.ts';

/** The session as it must be written into folder `to` so that it names the same files as in folder `from`. */
export const rebased = (session: Session, from: string, to: string): Session =>
  relative(from, to) === ''
    ? session
    : withFilesCalled(session, (file) => relative(to, join(from, file)).split(sep).join('/'));
