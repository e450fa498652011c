import { tick } from 'svelte';
import { processors } from '../../dsp/core/registry.ts';
import { chainOf, setProcessorOn } from '../../session/chain/chain-edits.ts';
import { allItems } from '../../session/chain/chain-items.ts';
import { itemLabel } from '../../session/chain/chain-words.ts';
import { addMarker, markersOf } from '../../session/markers.ts';
import { addBus, setOn } from '../../session/edits/edits.ts';
import { presets } from '../../session/presets/presets.ts';
import type { Bench } from '../bench/bench.svelte.ts';
import { loadPreset } from '../bench/load-preset.ts';
import { focusBench, focusRow } from '../bench/focus-places.ts';
import { newProcessor } from '../bench/new-processor.ts';
import { hearSide } from '../bench/hear-side.ts';
import { DIM_DB } from '../bench/listening.svelte.ts';
import { CHECKS } from '../hearing/check-words.ts';
import { busRows, groupRows, mixRow, pathRow, type PathRow } from '../bench/paths.ts';
import { sidesOf } from '../bench/sides.ts';
import { feedersAmong, sendTogether } from '../bench/together.ts';
import { clock, counted } from '../shared/format.ts';
import type { Command } from './command.ts';

const KIND_WORDS: Readonly<Record<PathRow['kind'], string>> = {
  group: 'group',
  bus: 'bus',
  mix: 'mix bus',
  track: 'track',
  rough: 'rough',
};

const selects =
  (bench: Bench, path: string, item: string | null = null) =>
  (): void => {
    bench.selection.turnTo('paths');
    bench.selection.bringUp(false);
    bench.selection.select(path, item);
    void goTo(path, item);
  };

/** To the row of a path, or to the editor of a processor, once it shows. */
const goTo = async (path: string, item: string | null): Promise<void> => {
  await tick();
  if (item !== null || !focusRow(path, null)) focusBench(path);
};

/** A path and what stands in its chain. */
const ofPath = (bench: Bench, row: PathRow): Command[] => [
  {
    id: `path ${row.id}`,
    label: row.name,
    about: `${KIND_WORDS[row.kind]}: open it`,
    run: selects(bench, row.id),
  },
  ...allItems(chainOf(bench.session!, row.id)).flatMap((item): Command[] => {
    const label = `${itemLabel(item)} of ${row.name}`;
    const on = item.on ? 'Bypass' : 'Switch in';
    return [
      {
        id: `item ${row.id} ${item.id}`,
        label,
        about: 'processor: open it',
        run: selects(bench, row.id, item.id),
      },
      {
        id: `bypass ${row.id} ${item.id}`,
        label: `${on} ${label}`,
        about: 'processor',
        run: () => bench.edit(`${on.toLowerCase()} ${label}`, (now) => setProcessorOn(now, row.id, item.id, !item.on)),
      },
    ];
  }),
];

const muteAndSolo = (bench: Bench, row: PathRow): Command[] => [
  {
    id: `solo ${row.id}`,
    label: `${bench.listening.solo.includes(row.id) ? 'End solo of' : 'Solo'} ${row.name}`,
    about: '',
    run: () => bench.listening.toggleSolo(row.id),
  },
  {
    id: `mute ${row.id}`,
    label: `${row.on ? 'Mute' : 'Unmute'} ${row.name}`,
    about: '',
    run: () => bench.edit(`${row.on ? 'mute' : 'unmute'} ${row.name}`, (now) => setOn(now, row.id, !row.on)),
  },
];

/** Makes what is selected feed a bus. */
const toBuses = (bench: Bench, row: PathRow): Command[] =>
  busRows(bench.session!).flatMap((bus): Command[] => {
    const feeders = feedersAmong(bench, row.id, bus.id);
    if (feeders.length === 0) return [];
    const name = feeders.length === 1 ? feeders[0]!.name : counted(feeders.length, 'path');
    const run = (): void => sendTogether(bench, row.id, bus.id);
    return [{ id: `send ${bus.id}`, label: `Send ${name} to ${bus.name}`, about: 'at 0 dB, post-fader', run }];
  });

/** What can be put on the path that is open. */
const forSelected = (bench: Bench, row: PathRow): Command[] => [
  ...toBuses(bench, row),
  ...[...processors.values()].map(({ id, label, about }) => ({
    id: `add ${id}`,
    label: `Add ${label} to ${row.name}`,
    about,
    run: () => {
      newProcessor(bench, row, id);
      void goTo(row.id, bench.selection.item);
    },
  })),
  ...presets.map((preset) => ({
    id: `preset ${preset.name}`,
    label: `Load preset ${preset.name} on ${row.name}`,
    about: preset.purpose,
    run: () => loadPreset(bench, row, preset),
  })),
];

const ofSections = ({ session, listening }: Bench): Command[] =>
  session!.sections.flatMap(({ name, startSeconds, endSeconds }, n): Command[] => [
    {
      id: `to section ${n}`,
      label: `Go to ${name}`,
      about: `section from ${clock(startSeconds)}`,
      run: () => listening.seek(startSeconds),
    },
    {
      id: `loop section ${n}`,
      label: `Loop ${name}`,
      about: `section from ${clock(startSeconds)} to ${clock(endSeconds)}`,
      run: () => listening.loop({ startSeconds, endSeconds }),
    },
  ]);

const ofMarkers = (bench: Bench): Command[] => [
  {
    id: 'add marker',
    label: 'Add a marker at the playhead',
    about: '',
    keys: 'K',
    run: () => bench.edit('add a marker', (now) => addMarker(now, bench.listening.seconds)),
  },
  ...markersOf(bench.session!).map(({ name, seconds }, n) => ({
    id: `to marker ${n}`,
    label: `Go to ${name}`,
    about: `marker at ${clock(seconds)}`,
    run: () => bench.listening.seek(seconds),
  })),
];

const ofSides = (bench: Bench): Command[] =>
  sidesOf(bench.session!).map(({ heard, name, note, key }) => ({
    id: `hear ${heard}`,
    label: `Listen to ${name}`,
    about: note,
    ...(key === null ? {} : { keys: key }),
    run: () => hearSide(bench, heard),
  }));

const ofListening = (bench: Bench): Command[] => {
  const { listening, view } = bench;
  return [
    {
      id: 'play',
      label: view.playing ? 'Pause' : 'Play',
      about: '',
      keys: 'Space',
      run: () => void bench.attempt('sound', () => listening.toggle()),
    },
    {
      id: 'flip',
      label: 'Switch between A and B',
      about: 'listening',
      keys: 'F',
      run: () => hearSide(bench, listening.flipped),
    },
    { id: 'loop off', label: 'Loop off', about: '', keys: 'L', run: () => listening.loop(null) },
    { id: 'end solo', label: 'End all solos', about: '', keys: 'Shift S', run: () => listening.endSolo() },
    {
      id: 'matching',
      label: `Loudness matching ${listening.matching ? 'off' : 'on'}`,
      about: 'listening',
      run: () => listening.match(!listening.matching),
    },
    ...CHECKS.map(({ check, label, about }) => ({
      id: `check ${check}`,
      label: `Monitor: ${label.toLowerCase()} ${listening.check === check ? 'off' : 'on'}`,
      about,
      ...(check === 'mono' ? { keys: 'M' } : {}),
      run: () => listening.toggleCheck(check),
    })),
    {
      id: 'dim',
      label: `Monitor: dim ${listening.dim ? 'off' : 'on'}`,
      about: `${DIM_DB} dB down`,
      keys: 'D',
      run: () => listening.dimTo(!listening.dim),
    },
  ];
};

const ofPanels = ({ panels }: Bench): Command[] => [
  {
    id: 'findings',
    label: panels.now.findingsFolded ? 'Show the findings' : 'Fold the findings away',
    about: 'figures, guards and targets of the mix',
    run: () => panels.set({ findingsFolded: !panels.now.findingsFolded }),
  },
  {
    id: 'strip',
    label: panels.now.stripFolded ? 'Unfold the song strip' : 'Fold the song strip',
    about: '',
    run: () => panels.set({ stripFolded: !panels.now.stripFolded }),
  },
];

/** Pages of the main panel: id and words of their commands, and the page. */
const PAGES = [
  ['sends', 'Sends', 'all sends as one table, tracks and groups by buses', 'sends'],
  ['ledger', 'Ledger', 'what each path does to the mix, over a stretch', 'ledger'],
  ['check files', 'Check files', 'faults of what was received; the rough by its tracks', 'received'],
  ['paths', 'Path table', 'groups, buses and the mix bus', 'paths'],
] as const;

const ofPages = (bench: Bench): Command[] => [
  ...PAGES.map(([id, label, about, page]) => ({ id, label, about, run: () => bench.selection.turnTo(page) })),
  {
    id: 'bring up',
    label: 'Bring up the buses',
    about: 'one at a time, from −∞',
    run: () => {
      bench.selection.turnTo('paths');
      bench.selection.bringUp(true);
    },
  },
  {
    id: 'add bus',
    label: 'Add an empty bus',
    about: '',
    run: () => {
      if (bench.edit('add New bus', (now) => addBus(now, { name: 'New bus', chain: [] })))
        selects(bench, bench.session!.buses.at(-1)!.id)();
    },
  },
];

const steps = (bench: Bench): Command[] => [
  ...(bench.undoLabel === null
    ? []
    : [{ id: 'undo', label: `Undo ${bench.undoLabel}`, about: '', keys: 'Ctrl Z', run: () => bench.undo() }]),
  ...(bench.redoLabel === null
    ? []
    : [{ id: 'redo', label: `Redo ${bench.redoLabel}`, about: '', keys: 'Ctrl Shift Z', run: () => bench.redo() }]),
];

/** Everything in the open session that can be done by its name. */
export const songCommands = (bench: Bench): Command[] => {
  const session = bench.session!;
  const rows = [...groupRows(session), ...busRows(session), mixRow(session)];
  const tracks = session.tracks.map(({ id }) => pathRow(session, id));
  const { path } = bench.selection;
  return [
    ...ofListening(bench),
    ...ofPages(bench),
    ...ofPanels(bench),
    ...[...rows, ...tracks].flatMap((row) => ofPath(bench, row)),
    ...[...rows, ...tracks].filter(({ kind }) => kind !== 'mix').flatMap((row) => muteAndSolo(bench, row)),
    ...(path === null ? [] : forSelected(bench, pathRow(session, path))),
    ...ofSections(bench),
    ...ofMarkers(bench),
    ...ofSides(bench),
    ...steps(bench),
  ];
};
