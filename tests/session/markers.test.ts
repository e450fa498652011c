import { expect, test } from 'vitest';
import { addMarker, markersOf, placesOf, setMarkers } from '../../src/session/markers.ts';
import { parseSession } from '../../src/session/read/parse.ts';
import { sessionText } from '../../src/session/read/serialize.ts';
import { smallSession } from '../helpers/session-file.ts';

const session = smallSession();

test('markers are kept in the order of their places, under names of their own', () => {
  const marked = addMarker(addMarker(session, 12), 4);
  expect(markersOf(marked)).toEqual([
    { name: 'Marker 2', seconds: 4 },
    { name: 'Marker 1', seconds: 12 },
  ]);
  expect(parseSession(sessionText(marked), 'test').markers).toEqual(marked.markers);
});

test('a session without markers is written as before, and a marker needs a name', () => {
  expect(sessionText(session)).not.toContain('markers');
  expect(() => setMarkers(session, [{ name: '', seconds: 1 }])).toThrow(/markers/);
});

test('named places are beginnings of sections and markers', () => {
  const sections = [{ name: 'Verse', startSeconds: 2, endSeconds: 9 }];
  expect(placesOf({ sections, markers: [{ name: 'Fill', seconds: 5 }] })).toEqual([
    { name: 'Verse', seconds: 2 },
    { name: 'Fill', seconds: 5 },
  ]);
});
