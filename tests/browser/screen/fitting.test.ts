import { expect, test } from 'vitest';
import { setChain } from '../../../src/session/chain/chain-edits.ts';
import { setBlend } from '../../../src/session/edits/edits.ts';
import { withItemIds } from '../../../src/session/ids.ts';
import { presets } from '../../../src/session/presets/presets.ts';
import { Bench } from '../../../src/ui/bench/bench.svelte.ts';
import { fitPresets } from '../../../src/ui/bench/fit-presets.ts';
import type { AnswerTo, Question } from '../../../src/engine/questions.ts';
import { FakeEngine } from './fake-engine.ts';
import { fakeSession } from './fake-session.ts';

/** An engine that answers when it is told to. */
class SlowEngine extends FakeEngine {
  #answer = (): void => {};
  override ask<Q extends Question>(question: Q): Promise<AnswerTo<Q>> {
    return new Promise((resolve) => (this.#answer = () => resolve(super.ask(question))));
  }
  answer = (): void => this.#answer();
}

const song = fakeSession();
const [first, second] = song.buses.map(({ id }) => id) as [string, string];
const preset = presets.find(({ name }) => name === 'drum squeeze')!;

/** A preset that was loaded on a bus after another edit, and is being fitted. */
const whileFitting = async () => {
  const engine = new SlowEngine();
  const bench = new Bench(engine);
  await engine.open(song, new Map());
  bench.take(song, true);
  bench.edit('blend', (session) => setBlend(session, second, -20));
  bench.edit('load', (session) => setChain(session, first, withItemIds(preset.chain)), 'load');
  const words = fitPresets(bench, [first], 'load', 'load');
  const come = async (): Promise<string> => {
    engine.answer();
    return words;
  };
  return { bench, come };
};

test('a fit that comes is one step with what it was asked for', async () => {
  const { bench, come } = await whileFitting();
  expect(await come()).toContain('Fitted to the sound');
  bench.undo();
  expect([bench.undoLabel, bench.redoLabel]).toEqual(['blend', 'load']);
});

test('undo and redo overtake a fit: it changes nothing, what can be redone stays, and a sentence says so', async () => {
  const { bench, come } = await whileFitting();
  const loaded = bench.session;
  bench.undo();
  bench.undo();
  bench.redo();
  bench.redo();
  bench.undo();
  expect(await come()).toBe('');
  expect([bench.undoLabel, bench.redoLabel]).toEqual(['blend', 'load']);
  bench.redo();
  expect(bench.session).toBe(loaded);
  expect(bench.notice).toContain('Fitting stopped');
});

test('so does another edit', async () => {
  const { bench, come } = await whileFitting();
  bench.edit('pull down', (session) => setBlend(session, first, -30));
  const edited = bench.session;
  expect(await come()).toBe('');
  expect([bench.session, bench.undoLabel]).toEqual([edited, 'pull down']);
});
