import { isSplit } from '../session/chain-items.ts';
import { itemTitle, settingLines } from '../session/chain-words.ts';
import { pointsText, targetTitle } from '../session/lines/line-words.ts';
import {
  CLOSED_DB,
  type Bus,
  type ChainItems,
  type Group,
  type Send,
  type Session,
  type Track,
} from '../session/schema.ts';
import { plain, table } from './markdown.ts';
import { htmlPage } from './page/html-page.ts';

const level = (db: number): string => (db <= CLOSED_DB ? '−∞' : `${db.toFixed(1)} dB`);

const panText = (pan: number): string => {
  if (pan === 0) return 'centre';
  return `${Math.round(100 * Math.abs(pan))} % ${pan < 0 ? 'left' : 'right'}`;
};

/** Numbered items, each with its settings; those of a split stand numbered under it. */
const itemsText = (chain: ChainItems, indent = ''): string =>
  chain
    .map((item, n) => {
      const under = `${indent}   `;
      const lines = isSplit(item)
        ? itemsText(item.split, under)
        : settingLines(item)
            .map((line) => `${under}- ${line}\n`)
            .join('');
      return `${indent}${n + 1}. ${itemTitle(item)}\n${lines}`;
    })
    .join('');

const chainText = (chain: ChainItems): string => (chain.length === 0 ? 'No processors.\n' : itemsText(chain));

const trackTable = (tracks: readonly Track[], groupName: (id: string) => string): string =>
  table(
    [
      ['Track', 'File', 'Group', 'Gain', 'Pan', 'Channels', 'Polarity', 'Starts at'],
      ...tracks.map(({ name, file, group, on, gainDb, pan, channels, polarity, offsetSeconds }) => [
        plain(name) + (on ? '' : ' (off)'),
        plain(file),
        groupName(group),
        level(gainDb),
        panText(pan),
        channels,
        polarity,
        `${offsetSeconds.toFixed(3)} s`,
      ]),
    ],
    [3, 7],
  );

type NameOf = (id: string) => string;

const sendFacts = (sends: readonly Send[], nameOf: NameOf): string[] =>
  sends.map((send) => `sends to ${nameOf(send.to)} at ${level(send.levelDb)}, ${send.tap}${send.on ? '' : ' (off)'}`);

const keyFacts = (key: string | null, nameOf: NameOf): string[] => (key === null ? [] : [`key from ${nameOf(key)}`]);

const pathText = (path: Group | Bus, nameOf: NameOf): string => {
  const { id, name, on, key, sends, soloSafe, chain } = path;
  const facts = [
    'blendDb' in path ? `Blend ${level(path.blendDb)}` : `Fader ${level(path.faderDb)}`,
    ...(on ? [] : ['muted']),
    ...keyFacts(key, nameOf),
    ...sendFacts(sends, nameOf),
    ...('blendDb' in path === soloSafe ? [] : [soloSafe ? 'solo-safe' : 'not solo-safe']),
  ];
  return `### ${plain(name)} (${id})\n\n${facts.join('; ')}.\n\n${chainText(chain)}`;
};

/** Lines over time that are on: they stand in for the settings that they move. */
const linesText = (session: Session): string[] => {
  const lines = session.lines.filter(({ on }) => on);
  if (lines.length === 0) return [];
  return [
    '## Lines over time\n',
    lines.map((line) => `- ${plain(targetTitle(session, line.target))}: ${pointsText(session, line)}\n`).join(''),
  ];
};

/** "120 BPM, 4/4; from bar 9 60 BPM; from bar 17 3/4". */
const tempoText = ({ tempo, meter, tempoChanges, meterChanges }: Session): string =>
  [
    `${tempo} BPM, ${meter.join('/')}`,
    ...tempoChanges.map(
      (change) => `${change.how === 'ramp' ? 'in a ramp to' : 'from'} bar ${change.bar} ${change.tempo} BPM`,
    ),
    ...meterChanges.map((change) => `from bar ${change.bar} ${change.meter.join('/')}`),
  ].join('; ');

/** A track that has more than a row of the table says, or the rough as a source. */
const sourceText = (
  { name, sends, chain }: Pick<Track, 'name' | 'sends' | 'chain'>,
  key: string | null,
  nameOf: NameOf,
): string => {
  const facts = [...keyFacts(key, nameOf), ...sendFacts(sends, nameOf)].join('; ');
  const first = facts === '' ? '' : `${facts[0]!.toUpperCase()}${facts.slice(1)}.\n\n`;
  return `### ${plain(name)}\n\n${first}${chainText(chain)}`;
};

/** All that is needed to set a mix again by hand, as Markdown: levels, sends, and every setting of every chain. */
export const recallSheet = (session: Session): string => {
  const { title, artist, notes, sampleRate, panLaw, rough, tracks, groups, buses, mixBus } = session;
  const names = new Map([...tracks, ...groups, ...buses].map(({ id, name }) => [id, plain(name)]));
  const nameOf = (id: string): string => names.get(id) ?? id;
  const withMore = tracks.filter(({ chain, sends, key }) => chain.length > 0 || sends.length > 0 || key !== null);
  const parts = [
    `# Recall sheet: ${plain(title)}\n`,
    `${artist === '' ? '' : `${plain(artist)}. `}${sampleRate} Hz, ${tempoText(session)}, pan law ${panLaw}.\n`,
    ...(notes === '' ? [] : [`${plain(notes)}\n`]),
    '## Tracks\n',
    trackTable(tracks, nameOf),
    ...withMore.map((track) => sourceText(track, track.key, nameOf)),
    ...(rough && (rough.chain.length > 0 || rough.sends.length > 0)
      ? ['## The rough as a source\n', sourceText({ name: rough.file, ...rough }, null, nameOf)]
      : []),
    '## Groups\n',
    ...groups.map((group) => pathText(group, nameOf)),
    ...(buses.length > 0 ? ['## Parallel buses\n'] : []),
    ...buses.map((bus) => pathText(bus, nameOf)),
    '## Mix bus\n',
    `Trim ${level(mixBus.trimDb)}.\n\n${chainText(mixBus.chain)}`,
    ...linesText(session),
  ];
  return parts.join('\n');
};

/** The same as one HTML file. */
export const recallPage = (session: Session): string =>
  htmlPage(`Recall sheet: ${session.title}`, [{ markdown: recallSheet(session) }]);
