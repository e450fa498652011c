import { expect, test } from 'vitest';
import type { LedgerRow } from '../../src/blend/ledger/ledger.ts';
import type { Figures } from '../../src/measure/figures.ts';
import type { MeasuredFile } from '../../src/cli/measure-file.ts';
import { run, runJson, Workplace } from './command.ts';
import { writeSession, writeSounds } from './song.ts';

interface LedgerAnswer {
  readonly mix: Figures;
  readonly printed: Figures;
  readonly rough?: Figures;
  readonly paths: readonly (LedgerRow & { readonly name: string; readonly kind: string; readonly blendDb: number })[];
}

const place = new Workplace();
writeSounds(place);
const ledger = async (name: string, fields = {}): Promise<LedgerAnswer> =>
  (await runJson('ledger', writeSession(place, name, fields))) as LedgerAnswer;

test('every path has its row: groups first, then buses, with all that the contract names', async () => {
  const { paths, mix, rough } = await ledger('song.json');
  expect(paths.map(({ id, name, kind, blendDb }) => [id, name, kind, blendDb])).toEqual([
    ['bass', 'Bass', 'group', 0],
    ['keys', 'Keys', 'group', 0],
    ['double', 'Bass double', 'bus', 0],
  ]);
  for (const row of paths) {
    expect(Object.keys(row.alignment).sort()).toEqual([
      'against',
      'by',
      'cancels',
      'cancelsDb',
      'lagSamples',
      'polarity',
    ]);
    expect(Object.keys(row.without).sort()).toEqual(Object.keys(mix).sort());
    expect(Object.keys(row.change).sort()).toEqual(Object.keys(mix).sort());
  }
  const [measured] = (await runJson('measure', place.path('rough.wav'))) as MeasuredFile[];
  expect(rough!.integratedLufs).toBe(measured!.integratedLufs);
});

test('a wire beside its own source adds 6.02 dB to it, and the shares of all paths are the whole', async () => {
  const { paths } = await ledger('bass.json', {
    groups: [
      { id: 'bass', name: 'Bass', sends: [{ to: 'double' }] },
      { id: 'keys', name: 'Keys', on: false },
    ],
  });
  const double = paths.find(({ id }) => id === 'double')!;
  expect(double.change.integratedLufs).toBeCloseTo(6.0206, 3);
  expect(double.change.rmsDbfs).toBeCloseTo(6.0206, 3);
  expect(double.shareOfLoudness).toBeCloseTo(0.5, 6);
  expect(paths.reduce((sum, { shareOfLoudness }) => sum + shareOfLoudness!, 0)).toBeCloseTo(1, 9);
});

test('what follows the mix bus is told apart from what stands before it', async () => {
  const { mix, printed } = await ledger('mixbus.json', { mixBus: { trimDb: -4, chain: [] } });
  expect(printed.integratedLufs! - mix.integratedLufs!).toBeCloseTo(-4, 3);
  expect(printed.rmsDbfs! - mix.rmsDbfs!).toBeCloseTo(-4, 3);
});

test('a session without a rough has none in its answer', async () => {
  expect(await ledger('bare.json', { rough: null })).not.toHaveProperty('rough');
});

test('the readable answer says which figures stand where, and ends with a sentence for each path', async () => {
  const { code, out, err } = await run('ledger', writeSession(place, 'song.json'));
  expect([code, err]).toEqual([0, '']);
  expect(out).toMatch(/^ +before mix bus +printed +rough$/m);
  expect(out).toMatch(/^Bass double +bus +0\.0 +\d/m);
  expect(out).toMatch(/^Bass double: .*\.$/m);
});
