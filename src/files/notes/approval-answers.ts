import { z } from 'zod';
import type { NewClientNote } from '../../session/client-notes.ts';
import { ProblemError } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';
import { APPROVAL_FORMAT } from '../page/approval-format.ts';

const answersSchema = z.object({
  format: z.literal(APPROVAL_FORMAT),
  version: z.literal(1),
  title: z.string(),
  isBlind: z.boolean(),
  listener: z.string().max(80),
  preferred: z.string().nullable(),
  approved: z.boolean(),
  notes: z
    .array(
      z.object({
        version: z.string().nullable(),
        startSeconds: z.number().min(0).max(86_400),
        text: z.string().min(1).max(2000),
      }),
    )
    .max(500),
});

const nameOf = ({ passes }: Pick<Session, 'passes'>, side: string): string => {
  if (side === 'rough') return 'the rough mix';
  const name = passes.find(({ id }) => `pass:${id}` === side)?.name;
  return name === undefined ? 'the current mix' : `"${name}"`;
};

/** True for the text of a file that an approval page saved, readable or not. */
export const isAnswersText = (text: string): boolean =>
  text.trimStart().startsWith('{') && text.includes(APPROVAL_FORMAT);

/**
 * A client's answers on an approval page, as client notes: the preferred or approved version, and each note at its time.
 * @throws ProblemError where it is not a file of answers, or has none
 */
export const answersIn = (text: string, session: Pick<Session, 'passes'>, path: string): NewClientNote[] => {
  const wrong = (found: string): ProblemError =>
    new ProblemError({ code: 'mismatch', path, expected: 'answers that an approval page saved', found });
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch {
    throw wrong('no JSON');
  }
  const { data } = answersSchema.safeParse(json);
  if (!data) throw wrong('other JSON');
  const { isBlind, listener, preferred, approved, notes } = data;
  const whole = (words: string): NewClientNote => ({ text: words, startSeconds: null, endSeconds: null });
  const who = listener === '' ? '' : `${listener}: `;
  const found = [
    ...(preferred === null
      ? []
      : [
          whole(
            `${who}${approved ? 'approves' : 'prefers'} ${nameOf(session, preferred)}${isBlind ? ' (names were hidden)' : ''}`,
          ),
        ]),
    ...notes.map(({ version, startSeconds, text: words }) => ({
      text: `${who}${words}${version === null ? '' : ` (heard in ${nameOf(session, version)})`}`.slice(0, 2000),
      ...{ startSeconds, endSeconds: null },
    })),
  ];
  if (found.length === 0) throw wrong('no answer in them');
  return found;
};
