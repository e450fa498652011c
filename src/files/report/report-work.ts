import { changeOf } from '../../measure/change.ts';
import { numberText } from '../../measure/definitions/figure-text.ts';
import type { Figures } from '../../measure/figures.ts';
import { itemTitle } from '../../session/chain/chain-words.ts';
import type { ChainItems, Session } from '../../session/schema.ts';
import { levelText } from '../../session/strip-words.ts';
import { plain, table } from './markdown.ts';

/** Less than this is not told, dB or LU: it is hardly heard. */
const HEARD = 0.1;

interface Said {
  readonly value: number | null;
  readonly unit: string;
  /** What a change up is, and one down; `#` stands for how much. */
  readonly up: string;
  readonly down: string;
}

/** What changed, a sentence each, from the figures of the whole song. */
export const changeSentences = (before: Figures, after: Figures, against: string): string[] => {
  const change = changeOf(before, after);
  const said: readonly Said[] = [
    {
      ...{ value: change.integratedLufs, unit: 'LU' },
      up: `The mix is # louder than the ${against}: to hear the difference in sound alone, turn it down by as much.`,
      down: `The mix is # softer than the ${against}: to hear the difference in sound alone, turn that down by as much.`,
    },
    {
      ...{ value: change.loudnessRangeLu, unit: 'LU' },
      up: 'Soft and loud parts lie # further apart (loudness range).',
      down: 'Soft and loud parts lie # closer together (loudness range).',
    },
    {
      ...{ value: change.plrDb, unit: 'dB' },
      up: 'Its peaks stand out # more (peak to loudness).',
      down: 'Its peaks stand out # less (peak to loudness).',
    },
    {
      ...{ value: change.stereo.sideToMidDb, unit: 'dB' },
      up: 'It is wider: the sides are # up against the middle.',
      down: 'It is narrower: the sides are # down against the middle.',
    },
    {
      ...{ value: change.stereo.monoLossLu, unit: 'LU' },
      up: 'Heard in mono it loses # more than before.',
      down: 'Heard in mono it loses # less than before.',
    },
  ];
  const sentences = said.flatMap(({ value, unit, up, down }) =>
    value === null || Math.abs(value) < HEARD
      ? []
      : [(value > 0 ? up : down).replace('#', `${numberText(Math.abs(value), 1)} ${unit}`)],
  );
  return sentences.length > 0 ? sentences : [`In loudness, dynamics and width the mix is as the ${against}.`];
};

const chainWords = (chain: ChainItems): string => (chain.length === 0 ? '\u2013' : chain.map(itemTitle).join(', '));

const muted = (on: boolean): string => (on ? '' : ' (muted)');

/** Every path, what feeds it and what it was given, as one table; tracks only where they have processors of their own. */
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
    ['Mix bus', '', levelText(mixBus.trimDb), 'everything', chainWords(mixBus.chain)],
  ];
  const heads = ['Path', 'Kind', 'Level', 'Fed by', 'Processors, in order'];
  return table([heads, ...rows.map((row) => row.map((cell) => plain(cell)))], [2]);
};
