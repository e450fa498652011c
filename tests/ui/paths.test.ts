import { describe, expect, test } from 'vitest';
import { flagsOf } from '../../src/blend/ledger/flags.ts';
import { NO_ALIGNMENT } from '../../src/blend/ledger/path-alignment.ts';
import { parseSession } from '../../src/session/read/parse.ts';
import {
  busRows,
  feedersOf,
  groupRows,
  mixRow,
  pathRow,
  possibleFeeders,
  setLevel,
  type PathRow,
} from '../../src/ui/bench/paths.ts';
import { alignmentWords } from '../../src/ui/path-table/alignment.ts';
import { placeBeside } from '../../src/ui/shared/place.ts';
import { placeAfterDrag, shownShift } from '../../src/ui/workbench/chain-order.ts';
import { fixOf } from '../../src/ui/workbench/flag-fix.ts';
import { smallSession } from '../helpers/session-file.ts';

const session = parseSession(
  JSON.stringify({
    format: 'tributary-session',
    version: 4,
    title: 'Three buses',
    sampleRate: 48_000,
    tracks: [],
    groups: [{ id: 'drums', name: 'Drums', sends: [{ to: 'squeeze', levelDb: -3 }] }],
    buses: [
      { id: 'squeeze', name: 'Squeeze' },
      { id: 'echo', name: 'Echo', sends: [{ to: 'plate' }] },
      { id: 'plate', name: 'Plate' },
    ],
  }),
  'test',
);

test('every path has a hue of its own, the same wherever it is asked for', () => {
  const hues = [...groupRows(session), ...busRows(session)].map(({ hue }) => hue);
  expect(new Set(hues).size).toBe(4);
  expect(pathRow(session, 'plate').hue).toBe(hues[3]);
});

test('the level of each kind of row moves its own fader, blend or trim; the trim cannot be shut', () => {
  expect(setLevel(session, { kind: 'group', id: 'drums', name: 'Band' }, -2).groups[0]!.faderDb).toBe(-2);
  expect(setLevel(session, { kind: 'bus', id: 'echo', name: 'Room' }, -20).buses[1]!.blendDb).toBe(-20);
  expect(setLevel(session, mixRow(session), -90).mixBus.trimDb).toBe(-60);
});

describe('what feeds a bus', () => {
  test('is found among groups and buses', () => {
    expect(feedersOf(session, 'squeeze')).toMatchObject([{ id: 'drums', send: { levelDb: -3 } }]);
    expect(feedersOf(session, 'plate')).toMatchObject([{ id: 'echo' }]);
  });

  test('is not offered when it would send in a circle, or does so already', () => {
    expect(possibleFeeders(session, 'echo').map(({ id }) => id)).toEqual(['drums', 'squeeze']);
    expect(possibleFeeders(session, 'squeeze').map(({ id }) => id)).toEqual(['echo', 'plate']);
  });
});

/** What flags are told of, against a group called Keys. */
const reportingSteps = (
  alignment: { readonly lagSamples: number | null; readonly polarity: 1 | -1 },
  share = 0.1,
  worst: { readonly db: number; readonly hz: number } = { db: -0.5, hz: 900 },
  correlation: number | null = 1,
) => ({
  ...{ share, worst, correlation, sampleRate: 48_000, nameOf: () => 'Keys' },
  alignment: { ...NO_ALIGNMENT, against: ['keys'], ...alignment },
});

describe('alignment in words', () => {
  const MILD = { db: -0.5, hz: 900 };
  const DEEP = { db: -2, hz: 900 };
  const findingsOf = (
    lagSamples: number | null,
    polarity: 1 | -1 = 1,
    { share = 0.1, worst = MILD, correlation = 1 } = {},
  ) => ({
    alignment: { lagSamples, polarity, cancelsDb: 0 },
    flags: flagsOf(reportingSteps({ lagSamples, polarity }, share, worst, correlation)),
  });
  const of = (...args: Parameters<typeof findingsOf>) => alignmentWords(findingsOf(...args), 48_000);

  test('a path without a source in the mix has none', () => {
    expect(of(null)).toBeNull();
  });
  test('late, early, inverted and turned are said, each flag with its reason and its way out', () => {
    expect(of(0)).toMatchObject({ short: 'aligned', state: 'fine' });
    expect(of(48)).toMatchObject({
      short: '48 samples late',
      state: 'wrong',
      long: 'Late by 48 samples (1.00 ms) relative to Keys. Time-align it: move its tracks 1.00 ms earlier.',
    });
    expect(of(-1)).toMatchObject({ short: '1 sample early', long: expect.stringContaining('1 sample (') as string });
    expect(of(0, -1)).toMatchObject({
      short: 'inverted',
      state: 'wrong',
      long: expect.stringContaining('Polarity inverted relative to Keys. Invert its polarity.') as string,
    });
    expect(of(4800, -1)).toMatchObject({ short: '100 ms late, inv.' });
    expect(of(0, 1, { worst: DEEP })).toMatchObject({
      short: 'phase shift',
      state: 'wrong',
      long: expect.stringContaining('Phase shift relative to Keys: cancels 2.0 dB at 900 Hz.') as string,
    });
    expect(of(48, 1, { worst: DEEP })!.long).toContain('Comb filter: cancels 2.0 dB at 900 Hz, and every 1 kHz above.');
  });
  test('a bus that has nothing in common with its source is not called exact', () => {
    expect(of(0, 1, { correlation: 0.02 })).toMatchObject({
      short: 'uncorrelated',
      state: 'wrong',
      long: expect.stringContaining('Uncorrelated: it has nothing in common with Keys.') as string,
    });
  });
  test('a share below zero alone does not stand there', () => {
    expect(of(0, 1, { share: -0.1 })).toMatchObject({ short: 'aligned', state: 'fine' });
  });
  test('a delay that is meant is an echo', () => {
    const { alignment } = findingsOf(30_000);
    expect(alignmentWords({ alignment, flags: [] }, 48_000)).toMatchObject({
      short: '625 ms echo',
      long: 'An echo 625 ms after its source.',
      state: 'fine',
    });
  });
  test('what does not sound is not flagged', () => {
    const { alignment } = findingsOf(48);
    expect(alignmentWords({ alignment, flags: [] }, 48_000)).toMatchObject({ short: '48 samples late', state: 'fine' });
  });
});

describe('the way out of a flag', () => {
  const row = { id: 'drums', name: 'Drums', kind: 'group' } as PathRow;
  const fixes = (kind: 'group' | 'bus', lagSamples: number, polarity: 1 | -1, share: number) => {
    const alignment = { lagSamples, polarity, cancelsDb: 0 };
    const flags = flagsOf(reportingSteps({ lagSamples, polarity }, share));
    return flags.flatMap((flag) => fixOf(flag, { ...row, kind }, { alignment, flags }, 48_000) ?? []);
  };

  test('turns polarity once, whatever else tells of it', () => {
    expect(fixes('bus', 0, -1, -0.1).map(({ label }) => label)).toEqual(['Invert its polarity']);
    expect(fixes('bus', 0, 1, -0.1).map(({ label }) => label)).toEqual(['Invert its polarity']);
  });
  test('moves the tracks of a late group by just its lag', () => {
    const [fix] = fixes('group', 48, 1, 0.1);
    expect(fix!.label).toBe('Move its tracks 1.00 ms earlier');
    const session = smallSession();
    const group = session.groups[0]!.id;
    const [late] = [{ ...row, id: group }].map((path) => {
      const alignment = { lagSamples: 48, polarity: 1 as const, cancelsDb: 0 };
      const flags = flagsOf(reportingSteps({ lagSamples: 48, polarity: 1 }));
      return fixOf(flags[0]!, path, { alignment, flags }, 48_000)!;
    });
    const shifts = late!
      .edit(session)
      .tracks.map(({ offsetSeconds }, n) => offsetSeconds - session.tracks[n]!.offsetSeconds);
    session.tracks.forEach((track, n) => expect(shifts[n]).toBeCloseTo(track.group === group ? -0.001 : 0, 9));
  });
  test('is not offered for a late bus, whose delay is in its chain', () => {
    expect(fixes('bus', 48, 1, 0.1)).toEqual([]);
  });
});

describe('a dragged processor', () => {
  test('comes to stand where most of it is, within the chain', () => {
    expect(placeAfterDrag(0, 44, 29, 3)).toBe(2);
    expect(placeAfterDrag(0, 14, 29, 3)).toBe(0);
    expect(placeAfterDrag(1, -900, 29, 3)).toBe(0);
    expect(placeAfterDrag(1, 900, 29, 3)).toBe(2);
  });
  test('the others make room on its way', () => {
    expect([0, 1, 2, 3].map((index) => shownShift(index, 0, 2))).toEqual([0, -1, -1, 0]);
    expect([0, 1, 2, 3].map((index) => shownShift(index, 3, 1))).toEqual([0, 1, 1, 0]);
  });
});

describe('a popover', () => {
  const view = { width: 1280, height: 720 };
  const size = { width: 300, height: 200 };

  test('goes under its button, over it where there is no room, and never out at the side', () => {
    expect(placeBeside({ left: 100, top: 50, width: 60, height: 20 }, size, view)).toMatchObject({
      left: 100,
      top: 74,
    });
    expect(placeBeside({ left: 1200, top: 690, width: 60, height: 20 }, size, view)).toMatchObject({
      left: 972,
      top: 486,
    });
  });

  test('that is too high for over and under goes beside its button, no higher than 520 px', () => {
    const opener = { left: 0, top: 400, width: 60, height: 20 };
    expect(placeBeside(opener, { width: 300, height: 500 }, view)).toEqual({ left: 64, top: 212, maxHeight: 520 });
    expect(placeBeside(opener, { width: 300, height: 900 }, view)).toEqual({ left: 64, top: 192, maxHeight: 520 });
  });

  test('that fits nowhere takes the larger side, and never covers its button', () => {
    const opener = { left: 940, top: 400, width: 60, height: 20 };
    const { top, maxHeight } = placeBeside(opener, { width: 300, height: 700 }, view);
    expect([top, maxHeight]).toEqual([8, 388]);
    const low = placeBeside({ ...opener, top: 100 }, { width: 300, height: 700 }, view);
    expect([low.top, low.top + low.maxHeight]).toEqual([124, 644]);
  });
});
