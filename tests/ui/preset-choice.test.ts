import { expect, test } from 'vitest';
import { setSend } from '../../src/session/edits/edits.ts';
import { busRows, groupRows, mixRow } from '../../src/ui/bench/paths.ts';
import { isFor, suitsOf } from '../../src/ui/workbench/preset-choice.ts';
import { smallSession } from '../helpers/session-file.ts';

const session = smallSession();

test('what plays on a path is told by its name, on a bus by what feeds it, directly or through another', () => {
  expect(
    suitsOf(
      session,
      groupRows(session).find(({ id }) => id === 'drums')!,
    ),
  ).toEqual(['drums']);
  expect(suitsOf(session, mixRow(session))).toEqual(['mix']);
  const fed = setSend(session, 'drums', 'echo');
  expect(
    suitsOf(
      fed,
      busRows(fed).find(({ id }) => id === 'echo')!,
    ),
  ).toContain('drums');
});

test('presets for all suit every part, but not the whole mix; those for drums suit the parts of a kit', () => {
  expect(isFor({ suits: ['all'] }, ['bass'])).toBe(true);
  expect(isFor({ suits: ['all'] }, ['mix'])).toBe(false);
  expect(isFor({ suits: ['drums'] }, ['snare'])).toBe(true);
  expect(isFor({ suits: ['snare'] }, ['drums'])).toBe(false);
  expect(isFor({ suits: ['bass'] }, [])).toBe(false);
});
