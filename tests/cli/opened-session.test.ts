import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import * as face from '../../src/index.ts';
import { measure, openSession, ProblemError, setBlend, type Audio, type PrintOptions } from '../../src/index.ts';
import { runJson, Workplace } from './command.ts';
import { writeSession, writeSounds } from './song.ts';

const place = new Workplace();
writeSounds(place);
const path = writeSession(place, 'song.json', {
  sections: [{ name: 'Late', startSeconds: 0.7, endSeconds: 2.5 }],
  buses: [
    { id: 'double', name: 'Bass double', blendDb: -9, chain: [{ processor: 'saturator', settings: { drive: 12 } }] },
  ],
});

const printed = async (options: PrintOptions) => (await openSession(path)).print(place.path('refused'), options);

type Answer = Readonly<Record<string, unknown>>;
const told = async (...args: readonly string[]): Promise<Answer> => (await runJson(...args)) as Answer;
/** As JSON has it: without what is undefined there. */
const asJson = (value: unknown): unknown => JSON.parse(JSON.stringify(value));

test('what a script is told is what the command line tells: of the ledger, a sweep and the guards, over a section', async () => {
  const song = await openSession(path);
  const within = { section: 'late' };
  const { mix, flow } = await song.ledger(within);
  const commandLine = await told('ledger', path, '--section', 'late');
  expect(asJson({ mix, flow })).toEqual({ mix: commandLine['mix'], flow: commandLine['flow'] });
  const { rows } = await song.sweep({ bus: 'double', from: -12, to: -6, step: 6 }, within);
  const options = ['--bus', 'double', '--from', '-12', '--to', '-6', '--step', '6', '--section', 'late'];
  expect(asJson(rows)).toEqual((await told('sweep', path, ...options))['rows']);
  const { references } = await song.check(within);
  expect(references).toEqual(['rough', 'mix as received']);
});

test('an edited session is heard in the same sounds: what a bus at another blend makes of the mix is measured', async () => {
  const song = await openSession(path);
  const louder = song.with(setBlend(song.session, 'double', 0));
  const [before, after] = [measure(await song.mix()), measure(await louder.mix())];
  const { rows } = await song.sweep({ bus: 'double', from: 0, to: 0, step: 1 });
  expect(after.integratedLufs! - before.integratedLufs!).toBeGreaterThan(1);
  expect(rows[0]!.integratedLufs).toBeCloseTo(after.integratedLufs!, 6);
  expect([...(await louder.rendered()).paths.keys()]).toEqual(['bass', 'keys', 'double']);
});

test('prints are written whole, and what is there already stays unless it is said', async () => {
  const song = await openSession(path);
  const out = place.path('prints');
  const { prints, targetMet } = await song.print(out, { targetLufs: -20, ceilingDbtp: -1 });
  expect(targetMet).toBe(true);
  expect(prints[0]!.figures.integratedLufs).toBeCloseTo(-20, 1);
  expect(place.list('prints')).toContain('Small song.wav');
  await expect(song.print(out)).rejects.toThrow(ProblemError);
  await song.print(out, { force: true });
});

test.each([
  [
    'a bus that is not there',
    'double',
    async () => (await openSession(path)).sweep({ bus: 'nowhere', from: -6, to: 0, step: 1 }),
  ],
  ['a section that is not there', 'Late', async () => (await openSession(path)).ledger({ section: 'Early' })],
  ['a target that nobody can follow', 'brightness', async () => (await openSession(path)).solve(['brightness=max'])],
  [
    'a limit on no bus',
    'double',
    async () => (await openSession(path)).solve(['crestDb=max'], { limits: { nowhere: { low: -9, high: 0 } } }),
  ],
  ['a kind of print that is not there', 'kinds', async () => printed({ kinds: ['karaoke' as 'main'] })],
  ['a target that no print has', 'targetLufs', async () => printed({ targetLufs: 3 })],
  ['a field that a print does not know', 'loudness', async () => printed({ loudness: -14 } as object)],
  ['a print over one that is there', '{ force: true }', async () => [await printed({}), await printed({})]],
  ['what is no sound', 'sampleRate', () => Promise.resolve().then(() => measure(null as unknown as Audio))],
  ['a file that is not there', 'nothing there', async () => openSession(place.path('no.json'))],
  ['guards that are not there', 'default', async () => openSession(path, { guards: 'mine' })],
])('%s is refused with one sentence', async (_, words, ask) => {
  const error = await ask().then(
    () => null,
    (reason: unknown) => reason,
  );
  expect(error).toBeInstanceOf(ProblemError);
  expect((error as Error).message).toContain(words);
  expect((error as Error).message).not.toContain('\n');
  expect((error as Error).message).not.toContain(' --');
});

test('progress and warnings are heard', async () => {
  const heard: string[] = [];
  const song = await openSession(path, { onProgress: (what) => heard.push(what) });
  await song.check();
  expect(heard).toEqual(expect.arrayContaining(['Reading bass.wav', 'Rendering', 'Measuring']));
});

test('what is built for scripts exports all that there is', () => {
  const built = readFileSync('src/index.mjs', 'utf8');
  const names = [...built.matchAll(/^export const \{ (.*) \} = face;$/gm)].flatMap(([, list]) => list!.split(', '));
  expect(names.toSorted()).toEqual(Object.keys(face).toSorted());
});
