import type { z } from 'zod';
import { problemsOf } from '../read/parse.ts';
import { ProblemError } from '../problem.ts';
import type { JsonPath } from '../read/reading-order.ts';
import { busSchema, groupSchema, trackSchema, type Session } from '../schema.ts';
import { readShape } from '../read/shape.ts';

const SHAPES: Readonly<Record<MemberList, Readonly<Record<string, z.ZodType>>>> = {
  tracks: trackSchema.shape,
  groups: groupSchema.shape,
  buses: busSchema.shape,
};

/** The lists of a session whose members have an id. */
export type MemberList = 'tracks' | 'groups' | 'buses';

/** `target` with `fields`; the same object when that changes nothing. */
export const put = <T extends object>(target: T, fields: Partial<NoInfer<T>>): T => {
  const same = Object.entries(fields).every(([name, value]) => Object.is(target[name as keyof T], value));
  return same ? target : { ...target, ...fields };
};

/** Refuses a value that its schema does not allow, with a problem at `path`. */
export const requireValid = (schema: z.ZodType, value: unknown, path: JsonPath): void => {
  const { problems } = readShape(schema, value, path);
  if (problems) throw new ProblemError(problems[0]);
};

/** The session itself, once it is known to be right throughout; for edits that change how its parts hang together. */
export const requireConsistent = (session: Session): Session => {
  const [problem] = problemsOf(session);
  if (problem) throw new ProblemError(problem);
  return session;
};

/** In which list `id` stands. Throws RangeError for an unknown id. */
export const listOf = (session: Session, id: string): MemberList => {
  const list = (['tracks', 'groups', 'buses'] as const).find((name) =>
    session[name].some((member) => member.id === id),
  );
  if (!list) throw new RangeError(`the session has no track, group or bus "${id}"`);
  return list;
};

/** The session with some fields of one member changed; each field is checked by itself. */
export const changeMember = <L extends MemberList>(
  session: Session,
  list: L,
  id: string,
  fields: Partial<Session[L][number]>,
): Session => {
  const members: readonly Session[L][number][] = session[list];
  const index = members.findIndex((member) => member.id === id);
  const member = members[index];
  if (!member) throw new RangeError(`the session has nothing called "${id}" among its ${list}`);
  for (const [name, value] of Object.entries(fields)) requireValid(SHAPES[list][name]!, value, [list, index, name]);
  const changed = put(member, fields);
  return changed === member ? session : { ...session, [list]: members.with(index, changed) };
};

/** All ids that are taken in the shared name space of a session. */
export const takenIds = ({ tracks, groups, buses }: Session): string[] =>
  [...tracks, ...groups, ...buses].map(({ id }) => id);
