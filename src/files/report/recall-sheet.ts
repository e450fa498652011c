import { isSplit } from '../../session/chain/chain-items.ts';
import { itemTitle, settingLines } from '../../session/chain/chain-words.ts';
import { ROUGH } from '../../session/graph.ts';
import { MIX_BUS } from '../../session/lines/controls.ts';
import { lineOf } from '../../session/lines/line-edits.ts';
import type { LineTarget } from '../../session/lines/line-schema.ts';
import { pointsText, targetTitle } from '../../session/lines/line-words.ts';
import {
  type Bus,
  type ChainItems,
  type Group,
  type Pass,
  type Send,
  type Session,
  type Track,
} from '../../session/schema.ts';
import { TempoMap } from '../../session/tempo-map.ts';
import { mixChanges } from '../../session/mix-changes.ts';
import { apartText, levelText, panText, sendText } from '../../session/strip-words.ts';
import { plain, table } from './markdown.ts';
import { htmlPage, markdownOf, type PagePart } from '../page/html-page.ts';
import { settingPictures } from '../page/setting-pictures.ts';

/** Numbered items, each with its settings; those of a split are numbered below it. */
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

/** Most points of a line that are listed inline; longer lines are listed once, below. */
const FEW_POINTS = 6;

/** A setting that a line controls is marked as such, with the line's points. */
const orLine = (session: Session, target: LineTarget, text: string): string => {
  const line = lineOf(session, target);
  if (!line?.on) return text;
  const { length } = line.points;
  return length <= FEW_POINTS
    ? `automated: ${pointsText(session, line)}`
    : `automated with ${length} points, see Automation`;
};

const trackTable = (session: Session, groupName: (id: string) => string): string =>
  table(
    [
      ['Track', 'File', 'Group', 'Gain', 'Pan', 'Channels', 'Polarity', 'Starts at'],
      ...session.tracks.map(
        ({ id, name, file, group, on, gainDb, pan, channels, polarity, offsetSeconds, rightOffsetSeconds }) => [
          plain(name) + (on ? '' : ' (muted)'),
          plain(file),
          groupName(group),
          orLine(session, { of: id, what: 'level' }, levelText(gainDb)),
          orLine(session, { of: id, what: 'pan' }, panText(pan)),
          channels === 'stereo' ? 'as in the file' : channels,
          polarity,
          rightOffsetSeconds
            ? `${offsetSeconds.toFixed(3)} s, right channel ${apartText(rightOffsetSeconds)}`
            : `${offsetSeconds.toFixed(3)} s`,
        ],
      ),
    ],
    [3, 7],
  );

type NameOf = (id: string) => string;

const sendFacts = (session: Session, of: string, sends: readonly Send[], nameOf: NameOf): string[] =>
  sends.map((send) => {
    const text = orLine(session, { of, what: 'send', to: send.to }, sendText(send));
    return `sends to ${nameOf(send.to)} at ${text}`;
  });

const keyFacts = (key: string | null, nameOf: NameOf): string[] => (key === null ? [] : [`key from ${nameOf(key)}`]);

const pathText = (session: Session, path: Group | Bus, nameOf: NameOf): string => {
  const { id, name, on, key, sends, soloSafe, chain } = path;
  const level = (db: number): string => orLine(session, { of: id, what: 'level' }, levelText(db));
  const facts = [
    'blendDb' in path ? `Blend ${level(path.blendDb)}` : `Fader ${level(path.faderDb)}`,
    ...(on ? [] : ['muted']),
    ...keyFacts(key, nameOf),
    ...sendFacts(session, id, sends, nameOf),
    ...('blendDb' in path === soloSafe ? [] : [soloSafe ? 'solo-safe' : 'not solo-safe']),
  ];
  return `### ${plain(name)} (${id})\n\n${facts.join('; ')}.\n\n${chainText(chain)}`;
};

/** Active lines over time: they replace the settings that they move. */
const linesText = (session: Session): string[] => {
  const lines = session.lines.filter(({ on }) => on);
  if (lines.length === 0) return [];
  const points = lines.map((line) => `- ${plain(targetTitle(session, line.target))}: ${pointsText(session, line)}\n`);
  return [`## Automation\n\n${points.join('')}`];
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

/** "Verse 0.000 to 10.000 s (from bar 1)". */
const sectionsText = (session: Session): string => {
  const map = new TempoMap(session);
  return session.sections
    .map(({ name, startSeconds, endSeconds }) => {
      const bar = Number(map.barAt(startSeconds).toFixed(3));
      return `${plain(name)} ${startSeconds.toFixed(3)} to ${endSeconds.toFixed(3)} s (from bar ${bar})`;
    })
    .join('; ');
};

/** A track with sends or a chain, or the rough as a source. */
const sourceText = (
  session: Session,
  { id, name, sends, chain }: Pick<Track, 'id' | 'name' | 'sends' | 'chain'>,
  key: string | null,
  nameOf: NameOf,
): string => {
  const facts = [...keyFacts(key, nameOf), ...sendFacts(session, id, sends, nameOf)].join('; ');
  const first = facts === '' ? '' : `${facts[0]!.toUpperCase()}${facts.slice(1)}.\n\n`;
  return `### ${plain(name)}\n\n${first}${chainText(chain)}`;
};

/** Text, followed by the pictures of its chain. */
const withPictures = (markdown: string, chain: ChainItems, { sampleRate }: Session): PagePart[] => [
  { markdown },
  { drawing: settingPictures(chain, sampleRate) },
];

/** What changed since a pass, setting by setting. */
const changesText = (session: Session, pass: Pass): string => {
  const members = mixChanges(pass, session);
  const lines = members.map(
    ({ of, changes }) => `- ${plain(of)}\n${changes.map((change) => `  - ${plain(change)}\n`).join('')}`,
  );
  return `${lines.length === 0 ? 'Nothing: the mix is as it was.\n' : lines.join('')}`;
};

/** The changes since `since` as text; in a page, those since every other pass too, folded. */
const changesParts = (session: Session, since: Pass | undefined): PagePart[] => {
  if (!since) return [];
  return [
    { markdown: `## What changed since the pass "${plain(since.name)}"\n\n${changesText(session, since)}` },
    ...session.passes
      .filter(({ id }) => id !== since.id)
      .map((pass) => ({ folded: `What changed since the pass "${pass.name}"`, inside: changesText(session, pass) })),
  ];
};

const partsOf = (session: Session, since: Pass | undefined): PagePart[] => {
  const { title, artist, notes, sampleRate, panLaw, rough, tracks, groups, buses, mixBus } = session;
  const names = new Map([...tracks, ...groups, ...buses].map(({ id, name }) => [id, plain(name)]));
  const nameOf = (id: string): string => names.get(id) ?? id;
  const withMore = tracks.filter(({ chain, sends, key }) => chain.length > 0 || sends.length > 0 || key !== null);
  return [
    { markdown: `# Recall sheet: ${plain(title)}\n` },
    {
      markdown: `${artist === '' ? '' : `${plain(artist)}. `}${sampleRate} Hz, ${tempoText(session)}, pan law ${panLaw}.\n`,
    },
    ...(notes === '' ? [] : [{ markdown: `${plain(notes)}\n` }]),
    ...(session.sections.length === 0 ? [] : [{ markdown: `Sections: ${sectionsText(session)}.\n` }]),
    { markdown: `## Tracks\n\n${trackTable(session, nameOf)}` },
    ...withMore.flatMap((track) => withPictures(sourceText(session, track, track.key, nameOf), track.chain, session)),
    ...(rough && (rough.chain.length > 0 || rough.sends.length > 0)
      ? withPictures(
          `## The rough as a source\n\n${sourceText(session, { id: ROUGH, name: rough.file, ...rough }, null, nameOf)}`,
          rough.chain,
          session,
        )
      : []),
    { markdown: '## Groups\n' },
    ...groups.flatMap((group) => withPictures(pathText(session, group, nameOf), group.chain, session)),
    ...(buses.length > 0 ? [{ markdown: '## Parallel buses\n' }] : []),
    ...buses.flatMap((bus) => withPictures(pathText(session, bus, nameOf), bus.chain, session)),
    ...withPictures(
      `## Mix bus\n\nTrim ${orLine(session, { of: MIX_BUS, what: 'trim' }, levelText(mixBus.trimDb))}.\n\n${chainText(mixBus.chain)}`,
      mixBus.chain,
      session,
    ),
    ...linesText(session).map((markdown) => ({ markdown })),
    ...changesParts(session, since),
  ];
};

/**
 * All that is needed to set a mix again by hand, as Markdown: levels, sends, and every setting of every chain; with what changed since a
 * pass, by default the last one.
 */
export const recallSheet = (session: Session, since = session.passes.at(-1)): string =>
  markdownOf(partsOf(session, since));

/** The same as one HTML file, with a picture of each processor's curve, and the changes since every pass. */
export const recallPage = (session: Session, since = session.passes.at(-1)): string =>
  htmlPage(`Recall sheet: ${session.title}`, partsOf(session, since));
