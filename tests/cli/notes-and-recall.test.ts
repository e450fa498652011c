import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { savePass } from '../../src/session/passes/passes.ts';
import { parseSession } from '../../src/session/read/parse.ts';
import { sessionText } from '../../src/session/read/serialize.ts';
import { processorItem } from '../helpers/chain-items.ts';
import { smallSession } from '../helpers/session-file.ts';
import { run, runJson, Workplace } from './command.ts';

const place = new Workplace();

test('notes are read from a table, ticked off and listed', async () => {
  const session = place.write('song.json', sessionText(smallSession()));
  const table = place.write('notes.csv', 'time,note\n0:02,"vocal up, please"\n,wider\n');
  const out = place.path('noted.json');
  const first = (await runJson('notes', session, '--import', table, '--out', out)) as {
    notes: readonly { id: string; text: string; startSeconds: number | null }[];
    open: number;
  };
  expect(first.open).toBe(2);
  expect(first.notes.map(({ text, startSeconds }) => [text, startSeconds])).toEqual([
    ['vocal up, please', 2],
    ['wider', null],
  ]);
  const answered = place.path('answered.json');
  await run('notes', out, '--answered', first.notes[1]!.id, '--out', answered);
  const { out: told } = await run('notes', answered);
  expect(told).toMatch(/vocal up, please +open/);
  expect(told).toMatch(/wider +answered in the mix/);
  expect(told).toContain('1 of 2 open');
  const refused = await run('notes', out, '--answered', 'note-9', '--out', answered);
  expect([refused.code, refused.err]).toEqual([2, expect.stringContaining('ids of client notes')]);
  const nowhere = await run('notes', session, '--import', table);
  expect([nowhere.code, nowhere.err]).toEqual([2, expect.stringContaining('--out')]);
});

test('a recall sheet tells what changed since the chosen pass; as a page with curves', async () => {
  const { mixBus } = smallSession();
  const first = savePass({ ...smallSession(), mixBus: { ...mixBus, chain: [processorItem('eq')] } }, 'First');
  const louder = { ...first, mixBus: { ...first.mixBus, trimDb: -3 } };
  const second = savePass(louder, 'Second');
  const session = place.write('passes.json', sessionText({ ...second, mixBus: { ...second.mixBus, trimDb: -4 } }));
  const trim = mixBus.trimDb.toFixed(1);
  const { out: told } = await run('recall', session);
  expect(told).toContain('## What changed since the pass "Second"\n\n- Mix bus\n  - trim: -3.0 dB → -4.0 dB\n');
  const { changes } = (await runJson('recall', session, '--since', 'First', '--pass', 'second')) as {
    changes: unknown;
  };
  expect(changes).toEqual([{ of: 'Mix bus', changes: [`trim: ${trim} dB → -3.0 dB`] }]);
  const page = place.path('recall.html');
  await run('recall', session, '--out', page);
  expect((await run('recall', session, '--out', page)).err).toContain('or --force to replace what is there');
  expect((await run('recall', session, '--out', page, '--force')).code).toBe(0);
  const html = readFileSync(page, 'utf8');
  expect(html).toContain('<summary>What changed since the pass &quot;First&quot;</summary>');
  expect(html).toContain('role="img" aria-label="Curve of 1.');
  expect(parseSession(readFileSync(session, 'utf8'), 'song').passes).toHaveLength(2);
  const refused = await run('recall', session, '--since', 'Third');
  expect([refused.code, refused.err]).toEqual([2, expect.stringContaining('a pass of the session')]);
});
