import { changeOf } from '../../measure/change.ts';
import { numberText } from '../../measure/definitions/figure-text.ts';
import type { Figures } from '../../measure/figures.ts';
import { itemTitle } from '../../session/chain/chain-words.ts';
import type { ChainItems, Session } from '../../session/schema.ts';
import { levelText } from '../../session/strip-words.ts';
import { plain, table } from './markdown.ts';

/** Changes smaller than this, dB or LU, are left out: they are hardly heard. */
const HEARD = 0.1;

interface Said {
  readonly value: number | null;
  readonly unit: string;
  /** Sentences for an increase and a decrease; `#` is replaced by the amount. */
  readonly up: string;
  readonly down: string;
}

/** The changes, a sentence each, from the figures of the whole song. */
export const changeSentences = (before: Figures, after: Figures, against: string): string[] => {
  const change = changeOf(before, after);
  const said: readonly Said[] = [
    {
      ...{ value: change.integratedLufs, unit: 'LU' },
      up: `The mix is # louder than the ${against}: to judge the sound alone, turn it down by that much.`,
      down: `The mix is # softer than the ${against}: to judge the sound alone, turn the ${against} down by that much.`,
    },
    {
      ...{ value: change.loudnessRangeLu, unit: 'LU' },
      up: 'Its loudness range is # larger (LRA).',
      down: 'Its loudness range is # smaller (LRA).',
    },
    {
      ...{ value: change.plrDb, unit: 'dB' },
      up: 'Its peaks are # higher above its loudness (PLR).',
      down: 'Its peaks are # less above its loudness (PLR).',
    },
    {
      ...{ value: change.stereo.sideToMidDb, unit: 'dB' },
      up: 'It is wider: side to mid is # higher.',
      down: 'It is narrower: side to mid is # lower.',
    },
    {
      ...{ value: change.stereo.monoLossLu, unit: 'LU' },
      up: 'Its mono loss is # greater.',
      down: 'Its mono loss is # smaller.',
    },
  ];
  const sentences = said.flatMap(({ value, unit, up, down }) =>
    value === null || Math.abs(value) < HEARD
      ? []
      : [(value > 0 ? up : down).replace('#', `${numberText(Math.abs(value), 1)} ${unit}`)],
  );
  return sentences.length > 0 ? sentences : [`Loudness, dynamics and width are those of the ${against}.`];
};

const chainWords = (chain: ChainItems): string => (chain.length === 0 ? '\u2013' : chain.map(itemTitle).join(', '));

const muted = (on: boolean): string => (on ? '' : ' (muted)');

/** Every path with its feeds, level and processors, as one table; tracks only where they have processors of their own. */
export const workTable = ({ tracks, groups, buses, mixBus, rough }: Session): string => {
  const senders = [...tracks, ...groups, ...buses, ...(rough ? [{ name: 'Rough', sends: rough.sends }] : [])];
  const feeds = (bus: string): string =>
    senders
      .flatMap(({ name, sends }) => sends.filter(({ to, on }) => to === bus && on).map((send) => ({ name, send })))
      .map(({ name, send }) => `${name} at ${levelText(send.levelDb)}`)
      .join(', ');
  const count = (group: string): string => {
    const own = tracks.filter((track) => track.group === group).length;
    return `${own} ${own === 1 ? 'track' : 'tracks'}`;
  };
  const rows = [
    ...tracks
      .filter(({ chain }) => chain.length > 0)
      .map(({ name, on, gainDb, chain }) => [name, `track${muted(on)}`, levelText(gainDb), '', chainWords(chain)]),
    ...groups.map(({ id, name, on, faderDb, chain }) => [
      ...[name, `group${muted(on)}`, levelText(faderDb), count(id), chainWords(chain)],
    ]),
    ...buses.map(({ id, name, on, blendDb, chain }) => [
      ...[name, `bus${muted(on)}`, levelText(blendDb), feeds(id), chainWords(chain)],
    ]),
    ['Mix bus', '', levelText(mixBus.trimDb), 'all paths', chainWords(mixBus.chain)],
  ];
  const heads = ['Path', 'Kind', 'Level', 'Fed by', 'Processors, in order'];
  return table([heads, ...rows.map((row) => row.map((cell) => plain(cell)))], [2]);
};
