import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { answersIn } from '../../src/files/notes/approval-answers.ts';
import { clientNotesIn } from '../../src/files/notes/client-notes-text.ts';
import { decodeAudioFile } from '../../src/files/decode/decode.ts';
import type { PlayedApproval } from '../../src/files/page/approval-player.ts';
import { measure } from '../../src/measure/measure.ts';
import { savePass } from '../../src/session/passes/passes.ts';
import { parseSession } from '../../src/session/read/parse.ts';
import { sessionText } from '../../src/session/read/serialize.ts';
import { run, runJson, Workplace } from './command.ts';
import { SECONDS, writeSession, writeSounds } from './song.ts';

const place = new Workplace();
writeSounds(place);

/** A session with a pass that is 6 dB louder than the mix. */
const twoVersions = (): string => {
  const path = writeSession(place, 'song.json', { sections: [{ name: 'Middle', startSeconds: 1, endSeconds: 3 }] });
  const given = parseSession(readFileSync(path, 'utf8'), path);
  const loud = savePass({ ...given, mixBus: { ...given.mixBus, trimDb: given.mixBus.trimDb + 6 } }, 'Louder');
  return place.write('two.json', sessionText({ ...loud, mixBus: given.mixBus }));
};

test('versions stand on the page at one loudness, each as MP3 that a decoder reads', async () => {
  const page = place.path('versions.html');
  const session = twoVersions();
  const told = await runJson('approval', session, '--versions', 'mix,louder', '--section', 'Middle', '--out', page);
  expect(told).toMatchObject({ versions: ['mix', 'pass:louder'], section: 'Middle', blind: false });
  const html = readFileSync(page, 'utf8');
  const json = /<script type="application\/json" id="approval-data">(.*?)<\/script>/.exec(html)![1]!;
  const { versions, startsAtSeconds } = JSON.parse(json) as PlayedApproval;
  expect(startsAtSeconds).toBe(1);
  const sounds = await Promise.all(
    versions.map(({ sound }) => decodeAudioFile(new Uint8Array(Buffer.from(sound, 'base64')), 'version.mp3')),
  );
  const [mix, louder] = sounds.map((sound) => measure(sound).integratedLufs!);
  expect(Math.abs(mix! - louder!)).toBeLessThan(0.05);
  const said = Number(/\((−[\d.]+) LUFS\)/.exec(html)![1]!.replace('−', '-'));
  // Of noise the encoder leaves out what lies above 18 kHz and what is masked, of both alike.
  expect(Math.abs(mix! - said)).toBeLessThan(0.3);
  for (const sound of sounds)
    expect(sound.channels[0]!.length).toBeGreaterThanOrEqual(Math.floor((SECONDS - 1) * sound.sampleRate));
  const refused = await run('approval', session, '--versions', 'mix,none', '--out', page, '--force');
  expect([refused.code, refused.err]).toEqual([2, expect.stringContaining('--versions')]);
  const again = await run('approval', session, '--versions', 'mix,louder', '--out', page);
  expect([again.code, again.err]).toEqual([2, expect.stringContaining('--force')]);
});

test('answers become client notes', () => {
  const passes = savePass(parseSession(readFileSync(twoVersions(), 'utf8'), 'two'), 'Third').passes;
  const answers = {
    ...{ format: 'tributary-approval', version: 1, title: 'Song', isBlind: true, listener: 'Ida' },
    ...{ preferred: 'pass:third', approved: true },
    notes: [{ version: 'mix', startSeconds: 12.4, text: 'drums a bit loud' }],
  };
  expect(clientNotesIn(JSON.stringify(answers), { passes, sections: [] }, 'answers.json')).toEqual([
    { text: 'Ida: approves "Third" (names were hidden)', startSeconds: null, endSeconds: null },
    { text: 'Ida: drums a bit loud (heard in the current mix)', startSeconds: 12.4, endSeconds: null },
  ]);
  const broken = JSON.stringify({ ...answers, notes: 'none' });
  expect(() => answersIn(broken, { passes }, 'answers.json')).toThrow('answers that an approval page saved');
});
