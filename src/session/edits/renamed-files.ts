import type { Session } from '../schema.ts';

/** Fields of a session that name files. */
const FILE_FIELDS: readonly string[] = ['file', 'sound'];

/** The session with its files called otherwise, those of passes too. */
export const withFilesCalled = (session: Session, called: (file: string) => string): Session => {
  const text = JSON.stringify(session, (key, value: unknown) =>
    FILE_FIELDS.includes(key) && typeof value === 'string' ? called(value) : value,
  );
  return JSON.parse(text) as Session;
};
