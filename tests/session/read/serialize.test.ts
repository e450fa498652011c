import fc from 'fast-check';
import { expect, test } from 'vitest';
import { parseSession } from '../../../src/session/read/parse.ts';
import { sessionSchema } from '../../../src/session/schema.ts';
import { sessionText } from '../../../src/session/read/serialize.ts';
import { sessions } from '../../helpers/session-arbitrary.ts';
import { smallSession } from '../../helpers/session-file.ts';

test('what is written is read back as the same session, and written again as the same text', () => {
  fc.assert(
    fc.property(sessions, (session) => {
      const text = sessionText(session);
      const again = parseSession(text, 'song.json');
      expect(again).toEqual(session);
      expect(sessionText(again)).toBe(text);
    }),
  );
});

test('the text does not depend on the order in which keys were set', () => {
  const session = smallSession();
  const bus = session.buses[0]!;
  const settings = (first: string, second: string) => {
    const values: Record<string, number | string> = { gain: 3, polarity: 'inverted' };
    const chain = [{ ...bus.chain[0]!, settings: { [first]: values[first]!, [second]: values[second]! } }];
    return sessionText({ ...session, buses: [{ ...bus, chain }, ...session.buses.slice(1)] });
  };
  expect(settings('gain', 'polarity')).toBe(settings('polarity', 'gain'));
  const backwards = Object.fromEntries(Object.entries(session).reverse()) as typeof session;
  expect(sessionText(backwards)).toBe(sessionText(session));
});

test('keys stand in the order of the schema, defaults are written out, the last line ends', () => {
  const text = sessionText(smallSession());
  // Markers are absent where there are none.
  expect(Object.keys(JSON.parse(text) as object)).toEqual(
    Object.keys(sessionSchema.shape).filter((key) => key !== 'markers'),
  );
  expect(text).toContain('"tap": "post-fader"');
  expect(text.endsWith('}\n')).toBe(true);
});
