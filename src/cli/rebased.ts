import { join, relative, sep } from 'node:path';
import type { Session } from '../session/schema.ts';

/** Fields of a session that name files relative to where it stands. */
const FILE_FIELDS: readonly string[] = ['file', 'sound'];

/** The session as it must be written into folder `to` so that it names the same files as in folder `from`. */
export const rebased = (session: Session, from: string, to: string): Session => {
  if (relative(from, to) === '') return session;
  const moved = (file: string): string => relative(to, join(from, file)).split(sep).join('/');
  const text = JSON.stringify(session, (key, value: unknown) =>
    FILE_FIELDS.includes(key) && typeof value === 'string' ? moved(value) : value,
  );
  return JSON.parse(text) as Session;
};
