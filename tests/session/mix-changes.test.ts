import { expect, test } from 'vitest';
import { mixChanges } from '../../src/session/mix-changes.ts';
import { savePass } from '../../src/session/passes/passes.ts';
import type { Session } from '../../src/session/schema.ts';
import { processorItem, splitItem } from '../helpers/chain-items.ts';
import { smallSession } from '../helpers/session-file.ts';

const since = (change: (session: Session) => Session, start = smallSession()) => {
  const session = savePass(start, 'First');
  return mixChanges(session.passes[0]!, change(session));
};

const onGroup = (session: Session, fields: Partial<Session['groups'][number]>): Session => ({
  ...session,
  groups: session.groups.with(0, { ...session.groups[0]!, ...fields }),
});

test('a mix that is as its pass has no changes', () => {
  expect(since((session) => session)).toEqual([]);
});

test('levels, sends and switches are told in their units, with what they were', () => {
  const { groups } = smallSession();
  const [send] = groups[0]!.sends;
  const changes = since((session) =>
    onGroup(session, { faderDb: -1.5, on: false, sends: [{ ...send!, levelDb: -90 }, ...groups[0]!.sends.slice(1)] }),
  );
  expect(changes).toEqual([
    {
      of: 'Drums (group)',
      changes: [
        'fader: 0.0 dB → -1.5 dB',
        'muted: off → on',
        expect.stringMatching(/^send to Squeeze: .* dB, (pre|post)-fader → −∞, (pre|post)-fader$/),
      ],
    },
  ]);
});

test('settings of a chain are told by group and unit, those of an item in a split too; the order tells what is new', () => {
  const inner = processorItem('saturator', { id: 'grit' });
  const eq = processorItem('eq', { id: 'tone' });
  const second = processorItem('eq', { id: 'more' });
  const start = onGroup(smallSession(), { chain: [eq, splitItem([inner], { id: 'both' })] });
  const changes = since((session) => {
    const moved = { ...inner, settings: { drive: 6 } };
    const tuned = { ...eq, settings: { 'band1.on': true, 'band1.gain': 2 } };
    return onGroup(session, { chain: [splitItem([moved], { id: 'both' }), tuned, second] });
  }, start);
  expect(changes).toHaveLength(1);
  expect(changes[0]!.changes).toEqual([
    'processors: EQ, Split (Saturator) → Split (Saturator), EQ, EQ 2',
    expect.stringMatching(/^Saturator: .*drive: 0\.0 dB → 6\.0 dB$/i),
    expect.stringMatching(/^EQ: .*on: off → on$/i),
    expect.stringMatching(/^EQ: .*gain: 0\.0 dB → 2\.0 dB$/i),
  ]);
});

test('members that came and went, the trim and the lines are told', () => {
  const line = {
    ...{ id: 'ride', on: true, unit: 'seconds' as const, target: { of: 'drums', what: 'level' as const } },
    points: [{ at: 1, value: -6, curve: 'hold' as const }],
  };
  const changes = since((session) => ({
    ...session,
    tracks: session.tracks.slice(1),
    mixBus: { ...session.mixBus, trimDb: session.mixBus.trimDb - 2 },
    lines: [line],
  }));
  expect(changes.map(({ of }) => of)).toEqual(['Mix bus', 'Automation', `${smallSession().tracks[0]!.name} (track)`]);
  expect(changes[1]!.changes).toEqual(['Drums, fader: new, 1.000 s -6.0 dB']);
  expect(changes[2]!.changes).toEqual(['taken out']);
});
