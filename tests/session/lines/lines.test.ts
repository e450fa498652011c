import { describe, expect, it, test } from 'vitest';
import { targetGroupsOf } from '../../../src/session/lines/line-targets.ts';
import { processors } from '../../../src/dsp/core/registry.ts';
import { processorItem } from '../../helpers/chain-items.ts';
import { smallSession } from '../../helpers/session-file.ts';
import { removeProcessor, setProcessorOn } from '../../../src/session/chain/chain-edits.ts';
import { removeBus, setBlend, setOn } from '../../../src/session/edits/edits.ts';
import {
  addPoint,
  changePoint,
  copyBetweenSections,
  removePoint,
  setLine,
  switchInSections,
  throwSend,
} from '../../../src/session/lines/line-edits.ts';
import { levelDbOf, levelLineNotes } from '../../../src/session/lines/level-lines.ts';
import { valueAt } from '../../../src/session/lines/line-values.ts';
import { problemsOf } from '../../../src/session/read/parse.ts';
import { savePass } from '../../../src/session/passes/passes.ts';
import { sentenceOf } from '../../../src/session/problem.ts';
import type { Session } from '../../../src/session/schema.ts';
import { sessionFrom } from '../../helpers/sessions.ts';

const session = sessionFrom({
  sections: [
    { name: 'Verse', startSeconds: 0, endSeconds: 10 },
    { name: 'Chorus', startSeconds: 10, endSeconds: 20 },
    { name: 'Chorus 2', startSeconds: 30, endSeconds: 40 },
  ],
  groups: [
    {
      ...{ id: 'band', name: 'band', sends: [{ to: 'echo', levelDb: -90 }] },
      chain: [
        { id: 'eq', processor: 'eq', settings: { 'band3.on': true } },
        { id: 'squeeze', processor: 'compressor' },
      ],
    },
  ],
  buses: [
    { id: 'echo', name: 'echo' },
    { id: 'room', name: 'room' },
  ],
});

const line = (target: Record<string, string>, points: readonly unknown[], more = {}) => ({
  ...{ id: 'line', target, points, ...more },
});
const told = (...lines: unknown[]): string[] => problemsOf({ ...session, lines }).map(sentenceOf);

const FADER = { of: 'band', what: 'level' as const };

describe('the check of lines', () => {
  it.each([
    [line(FADER, [{ at: 1, value: 30 }]), 'lines[0].points[0].value must be between -90 and 24 dB, not 30.'],
    [
      line({ of: 'bnad', what: 'level' }, [{ at: 1, value: 0 }]),
      'lines[0].target.of must name "take", "band", "echo", "room" or "mix", not "bnad".',
    ],
    [
      line({ of: 'band', what: 'send', to: 'room' }, [{ at: 1, value: 0 }]),
      'lines[0].target.to must name "echo", not "room".',
    ],
    [
      line({ of: 'echo', what: 'pan' }, [{ at: 1, value: 0 }]),
      'lines[0].target.what must name "level" or "on", not "pan".',
    ],
    [
      line({ of: 'band', what: 'bypass', item: 'gone' }, [{ at: 1, value: true }]),
      'lines[0].target.item must name "eq" or "squeeze", not "gone".',
    ],
    [
      line(FADER, [
        { at: 2, value: 0 },
        { at: 2, value: -1 },
      ]),
      'lines[0].points[1].at must be later than the point before it, at 2, not 2.',
    ],
    [
      line(FADER, [{ at: 0.5, value: 0 }], { unit: 'bars' }),
      'lines[0].points[0].at must be 1 or more, as the first bar of the song begins at 1, not 0.5.',
    ],
    [
      line(FADER, [
        { at: 0, value: 0, curve: 'exponential' },
        { at: 2, value: -1 },
      ]),
      'lines[0].points[0].curve must be "hold", "linear" or "s-curve" (equal factors need values that are always above 0), not "exponential".',
    ],
    [
      line({ of: 'band', what: 'on' }, [
        { at: 0, value: true, curve: 'linear' },
        { at: 2, value: false },
      ]),
      'lines[0].points[0].curve must be "hold" (there is nothing between), not "linear".',
    ],
    [
      line({ of: 'band', what: 'parameter', item: 'squeeze', parameter: 'lookAhead' }, [{ at: 0, value: 1 }]),
      'lines[0].target.parameter must be a parameter that a line can move (this one changes the delay of its processor, so it must stand still), not "lookAhead".',
    ],
    [
      line({ ...FADER, item: 'eq' }, [{ at: 0, value: 1 }]),
      'lines[0].target.item must be left out, as a line of "level" has no use for it, not "eq".',
    ],
  ])('says in one sentence what is wrong', (wrong, sentence) => expect(told(wrong)).toEqual([sentence]));

  it('finds two lines of one target, and lines of a pass', () => {
    const good = line(FADER, [{ at: 1, value: 0 }]);
    expect(told(good, { ...good, id: 'other' })).toEqual([
      'lines[1].target must be something that no other line moves, not that of lines[0].',
    ]);
    const saved = savePass({ ...session, lines: [] }, 'First');
    const spoilt = {
      ...saved,
      passes: saved.passes.map((pass) => ({ ...pass, lines: [line({ ...FADER, of: 'x' }, [{ at: 1, value: 0 }])] })),
    };
    expect(problemsOf(spoilt).map(({ path }) => path)).toEqual(['passes[0].lines[0].target.of']);
  });
});

describe('edits of lines', () => {
  const valuesAt = (edited: Session, times: readonly number[]) =>
    times.map((at) => valueAt(edited.lines[0]!.points, at));

  it('add points in order, keep a moved one between its neighbours and in its range, and end with the last', () => {
    const two = addPoint(addPoint(session, FADER, { at: 5, value: -3, curve: 'hold' }), FADER, {
      at: 2,
      value: 0,
      curve: 'linear',
    });
    expect(two.lines[0]!.points.map(({ at }) => at)).toEqual([2, 5]);
    const { id } = two.lines[0]!;
    const moved = changePoint(two, id, 0, { at: 9, value: 99 });
    expect(moved.lines[0]!.points[0]).toMatchObject({ at: 4.999, value: 24 });
    expect(removePoint(removePoint(two, id, 0), id, 0).lines).toEqual([]);
  });

  it('throw a send over a stretch and close it again, twice on one line, as one edit each', () => {
    const once = throwSend(session, 'band', 'echo', { startSeconds: 12, endSeconds: 13 }, -3);
    const twice = throwSend(once, 'band', 'echo', { startSeconds: 32, endSeconds: 33 });
    expect(twice.lines).toHaveLength(1);
    expect(valuesAt(twice, [0, 11.9, 12, 12.9, 13, 31, 32, 33, 50])).toEqual([-90, -90, -3, -3, -90, -90, 0, -90, -90]);
    // A bus that nothing was sent to yet is closed elsewhere.
    const made = throwSend(session, 'band', 'room', { startSeconds: 1, endSeconds: 2 });
    expect(made.groups[0]!.sends[1]).toMatchObject({ to: 'room', levelDb: -90 });
    expect(problemsOf(twice)).toEqual([]);
    // So is one that stands open: a line at its own level would change nothing.
    const [band] = session.groups;
    const open = {
      ...session,
      groups: [{ ...band!, sends: [{ ...band!.sends[0]!, levelDb: 0 }] }, ...session.groups.slice(1)],
    };
    const thrown = throwSend(open, 'band', 'echo', { startSeconds: 12, endSeconds: 13 });
    expect(valuesAt(thrown, [0, 11.9, 12, 12.9, 13, 50])).toEqual([-90, -90, 0, 0, -90, -90]);
  });

  it('switch a path and a processor in sections, and copy a section to another', () => {
    const choruses = switchInSections(session, { of: 'echo', what: 'on' }, session.sections.slice(1), true);
    expect(valuesAt(choruses, [0, 9.9, 10, 19, 20, 29, 30, 40])).toEqual([
      false,
      false,
      true,
      true,
      false,
      false,
      true,
      false,
    ]);
    const shape = setLine(session, {
      ...{ target: FADER, unit: 'seconds', on: true },
      points: [
        { at: 10, value: -6, curve: 'linear' },
        { at: 15, value: 0, curve: 'hold' },
        { at: 20, value: -6, curve: 'hold' },
      ],
    });
    const copied = copyBetweenSections(shape, 'band', session.sections[1]!, session.sections[2]!);
    expect(valuesAt(copied, [12.5, 17, 25, 30, 32.5, 37, 41])).toEqual([-3, 0, -6, -6, -3, 0, -6]);
    expect(problemsOf(copied)).toEqual([]);
  });

  it('of a blend move with it as a whole, and what is closed stays closed', () => {
    const echo = { of: 'echo', what: 'level' as const };
    const lined = setLine(session, {
      ...{ target: echo, unit: 'seconds', on: true },
      points: [
        { at: 1, value: -12, curve: 'linear' },
        { at: 2, value: -6, curve: 'hold' },
        { at: 3, value: -90, curve: 'hold' },
      ],
    });
    expect(levelDbOf(lined, 'echo')).toBe(-6);
    const louder = setBlend(lined, 'echo', -2);
    expect(louder.lines[0]!.points.map(({ value }) => value)).toEqual([-8, -2, -90]);
    expect(levelLineNotes(louder, ['echo', 'room'])).toEqual([
      'echo has a blend that moves along the song: it is moved as a whole, and named where it is loudest.',
    ]);
  });

  it('of a switch are off while it is switched off by hand, and on again with it', () => {
    const target = { of: 'echo', what: 'on' as const };
    const choruses = switchInSections(session, target, session.sections.slice(1), true);
    const muted = setOn(choruses, 'echo', false);
    expect(muted.lines[0]!.on).toBe(false);
    expect(setOn(muted, 'echo', true)).toEqual(choruses);
    const bypass = { of: 'band', what: 'bypass' as const, item: 'eq' };
    const verse = switchInSections(session, bypass, session.sections.slice(0, 1), false);
    const off = setProcessorOn(verse, 'band', 'eq', false);
    expect(off.lines[0]!.on).toBe(false);
    expect(setProcessorOn(off, 'band', 'eq', true)).toEqual(verse);
  });

  it('take a line out with what it moves', () => {
    const bypass = { of: 'band', what: 'bypass' as const, item: 'eq' };
    const lined = throwSend(switchInSections(session, bypass, session.sections.slice(0, 1), true), 'band', 'echo', {
      ...{ startSeconds: 1, endSeconds: 2 },
    });
    expect(lined.lines).toHaveLength(2);
    expect(removeBus(lined, 'echo').lines.map(({ target }) => target)).toEqual([bypass]);
    expect(removeProcessor(lined, 'band', 'eq').lines.map(({ target }) => target.what)).toEqual(['send']);
  });
});

test('everything of a path that a line can move has a name of its own', () => {
  const { groups, buses } = smallSession();
  const chain = [...processors.keys(), 'saturator'].map((id, n) => processorItem(id, { id: `item-${n}` }));
  const session = { ...smallSession(), groups: [{ ...groups[0]!, chain }, ...groups.slice(1)], buses };
  const listed = targetGroupsOf(session, groups[0]!.id);
  expect(new Set(listed.map(({ title }) => title)).size).toBe(listed.length);
  for (const { title, choices } of listed) {
    const names = choices.map((choice) => choice.title);
    expect(
      names.filter((name, n) => names.indexOf(name) !== n),
      title,
    ).toEqual([]);
  }
});
