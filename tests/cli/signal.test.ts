import { expect, test } from 'vitest';
import type { MeasuredFile } from '../../src/cli/measure-file.ts';
import { parseSession } from '../../src/session/read/parse.ts';
import { run, runJson, Workplace } from './command.ts';
import { writeSession, writeSounds } from './song.ts';

const place = new Workplace();
writeSounds(place);
const glue = [{ id: 'gain', processor: 'gain', settings: { gain: 6 } }];
const session = writeSession(place, 'song.json', {
  mixBus: { trimDb: -3, chain: glue },
  rough: { file: 'rough.wav', sends: [{ to: 'double', levelDb: -40 }] },
});

interface Printed {
  readonly files: readonly (MeasuredFile & { readonly path: string })[];
  readonly notes: readonly string[];
}

test('headroom tells what the sum leaves, and writes the trim that leaves as much as asked for', async () => {
  const out = place.path('staged.json');
  const told = (await runJson('headroom', session, '--leave', '9', '--out', out)) as {
    before: { truePeakDbtp: number; headroomDb: number };
    after: { trimDb: number; headroomDb: number };
  };
  // The stems are the sum before the trim: added up and measured as a file, they have its true peak.
  const prints = ['print', session, '--out', place.path('main'), '--bits', '32f'];
  const { files } = (await runJson(...prints)) as Printed;
  // The mix bus chain is 6 dB of gain.
  expect(told.before.truePeakDbtp).toBeCloseTo(files[0]!.truePeakDbtp! - 6, 2);
  expect(told.before.headroomDb).toBeCloseTo(-told.before.truePeakDbtp, 9);
  expect(told.after.headroomDb).toBeGreaterThanOrEqual(9);
  expect(told.after.headroomDb).toBeLessThan(9.0101);
  expect(parseSession(place.readText('staged.json'), 'staged.json').mixBus.trimDb).toBe(told.after.trimDb);
  expect(place.readText('main/Small song - report.md')).toMatch(
    new RegExp(`Headroom before the mix bus: ${told.before.headroomDb.toFixed(2).replace('-', '.')} dB`),
  );
});

test('a bus that contains the rough is told of by check and print', async () => {
  const { out } = await run('check', session);
  expect(out).toContain('contains the rough mix');
  const { notes } = (await runJson('print', session, '--out', place.path('s'), '--kinds', 'main,stems')) as Printed;
  expect(notes.join(' ')).toContain('contains the rough mix, with all that is in it. So do');
});

test('a print of what is soloed is called after it, and holds nothing else', async () => {
  const prints = ['--out', place.path('solo'), '--bits', '32f'];
  const { files } = (await runJson('print', session, ...prints, '--solo', 'keys')) as Printed;
  expect(files[0]!.path).toContain('Small song (solo');
  const keys = place.readAudio('keys.wav');
  const [left] = place.readAudio(files[0]!.path.slice(place.folder.length + 1)).channels;
  const gain = 10 ** (3 / 20);
  const worst = keys.channels[0]!.reduce((most, x, n) => Math.max(most, Math.abs(gain * x - left![n]!)), 0);
  expect(worst).toBeLessThan(1e-6);
  const { code, err } = await run('print', session, ...prints, '--force', '--solo', 'kees');
  expect([code, err]).toEqual([2, expect.stringMatching(/^--solo must be ids of tracks.*not "kees"/)]);
});

test('the mix bus of a session runs on the rough, its trim first, stage by stage', async () => {
  const { stages, change } = (await runJson('chain', place.path('rough.wav'), '--mix-bus', session)) as {
    stages: { processor: string; change: { integratedLufs: number } }[];
    change: { integratedLufs: number };
  };
  expect(stages.map(({ change: { integratedLufs } }) => integratedLufs.toFixed(6))).toEqual(['-3.000000', '6.000000']);
  expect(change.integratedLufs).toBeCloseTo(3, 2);
});
