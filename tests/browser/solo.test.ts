import { expect, it } from 'vitest';
import { renderDirect } from '../../src/render/direct.ts';
import { gainsOf, sumPaths } from '../../src/render/mix.ts';
import { measure } from '../../src/measure/measure.ts';
import { readWav } from '../../src/files/wav/wav-read.ts';
import { planned } from '../helpers/sessions.ts';
import { opened } from './opened-engine.ts';
import { shortSong, shortSongFiles, until } from './short-song.ts';

const songOf = async (name: string) => readWav(new Uint8Array(await shortSongFiles().get(name)!.arrayBuffer()), name);

it('what is soloed alone is heard and measured, nothing else is asked of it meanwhile, and it ends without a trace', async () => {
  const song = shortSong();
  const bench = await opened(song);
  await until(() => bench.view.isMeasured, 'measuring');
  const whole = bench.view.findings;
  bench.solo(['bass']);
  await until(() => bench.view.isMeasured, 'measuring what is soloed');
  // The same by hand: the bass without the drums, through what it feeds, rendered without this engine.
  const alone = { ...song, groups: song.groups.map((group) => ({ ...group, on: group.id === 'bass' })) };
  const { plan, sources } = planned(alone, { kit: await songOf('drums.wav'), low: await songOf('bass.wav') });
  const sum = measure(sumPaths(await renderDirect(plan, sources), gainsOf(plan)));
  expect(bench.view.findings.beforeMixBus!.integratedLufs).toBeCloseTo(sum.integratedLufs!, 2);
  expect(bench.view.findings.received!.integratedLufs).toBe(whole.received!.integratedLufs);
  const sentence = /^Something is soloed: end solo first/;
  await expect(bench.ask({ kind: 'ledger', section: null })).rejects.toThrow(sentence);
  const order = { bits: '24', rate: null, kinds: ['main'], stemsTakeGain: false, targetLufs: null, ceilingDbtp: null };
  await expect(bench.print({ ...order, bits: '24', kinds: ['main'] })).rejects.toThrow(sentence);
  bench.solo([]);
  await until(() => bench.view.isMeasured, 'measuring the whole again');
  expect(bench.view.findings.beforeMixBus!.integratedLufs).toBeCloseTo(whole.beforeMixBus!.integratedLufs!, 6);
});
