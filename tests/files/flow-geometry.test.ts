import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { flowOf, type FlowNode } from '../../src/blend/ledger/flow.ts';
import { flowDrawing, type DrawnNode, type FlowDrawing } from '../../src/files/page/flow-geometry.ts';

const FRAME = { left: 150, right: 900, height: 500 };

/** Tracks into groups, groups into buses, and every bus into the next, at any shares. */
const flows = fc
  .record({
    groups: fc.array(
      fc.record({ tracks: fc.integer({ min: 1, max: 5 }), share: fc.double({ min: 0, max: 1, noNaN: true }) }),
      {
        minLength: 1,
        maxLength: 6,
      },
    ),
    buses: fc.array(fc.record({ from: fc.nat(5), share: fc.double({ min: -0.2, max: 1, noNaN: true }) }), {
      maxLength: 6,
    }),
  })
  .map(({ groups, buses }) => {
    const whole = [...groups, ...buses].reduce((sum, { share }) => sum + Math.abs(share), 0) || 1;
    const tracks = groups.flatMap(({ tracks: count }, g) =>
      Array.from({ length: count }, (_, n): FlowNode => ({
        id: `t${g}.${n}`,
        kind: 'source',
        energy: 1 + n,
        feeds: [],
        share: 0,
      })),
    );
    const groupNodes = groups.map(({ tracks: count, share }, g): FlowNode => {
      const feeds = Array.from({ length: count }, (_, n) => ({ from: `t${g}.${n}`, gain: 1 }));
      return { id: `g${g}`, kind: 'group', energy: 1, feeds, share: share / whole };
    });
    const busNodes = buses.map(({ from, share }, b): FlowNode => {
      const feeds = [
        { from: `g${from % groups.length}`, gain: 1 },
        ...(b > 0 ? [{ from: `b${b - 1}`, gain: 0.5 }] : []),
      ];
      return { id: `b${b}`, kind: 'bus', energy: 1, feeds, share: share / whole };
    });
    return flowOf([...tracks, ...groupNodes, ...busNodes]);
  });

const columnsIn = ({ nodes }: FlowDrawing): DrawnNode[][] =>
  [...new Set(nodes.map(({ x }) => x))].map((x) => nodes.filter((node) => node.x === x));

describe('the flow picture', () => {
  test('places of one column never lie over each other, and all lie within the drawing', () => {
    fc.assert(
      fc.property(flows, (flow) => {
        const drawing = flowDrawing(flow, FRAME);
        for (const column of columnsIn(drawing)) {
          const inOrder = column.toSorted((a, b) => a.y - b.y);
          inOrder.slice(1).forEach((node, n) => {
            expect(node.y).toBeGreaterThan(inOrder[n]!.y + inOrder[n]!.height);
          });
          expect(inOrder.at(-1)!.y + inOrder.at(-1)!.height).toBeLessThanOrEqual(drawing.height);
        }
      }),
    );
  });

  test('what feeds a place stands left of it, and the mix at the right', () => {
    fc.assert(
      fc.property(flows, (flow) => {
        const { nodes } = flowDrawing(flow, FRAME);
        const x = new Map(nodes.map((node) => [node.id, node.x]));
        for (const { from, to } of flow.links) expect(x.get(from)!).toBeLessThan(x.get(to)!);
        expect(Math.max(...x.values())).toBe(x.get(null));
      }),
    );
  });

  test('a place is as thick as its share: twice the loudness, twice the height', () => {
    const flow = flowOf([
      { id: 't', kind: 'source', energy: 1, feeds: [], share: 0 },
      { id: 'u', kind: 'source', energy: 1, feeds: [], share: 0 },
      { id: 'a', kind: 'group', energy: 1, feeds: [{ from: 't', gain: 1 }], share: 2 / 3 },
      { id: 'b', kind: 'group', energy: 1, feeds: [{ from: 'u', gain: 1 }], share: 1 / 3 },
    ]);
    const heights = new Map(flowDrawing(flow, FRAME).nodes.map(({ id, height }) => [id, height]));
    expect(heights.get('a')! / heights.get('b')!).toBeCloseTo(2, 9);
    expect(heights.get(null)!).toBeCloseTo(heights.get('a')! + heights.get('b')!, 9);
  });

  test('what is shut or off hands on nothing: no stream is drawn of it', () => {
    const flow = flowOf([
      { id: 't', kind: 'source', energy: 1, feeds: [], share: 0 },
      { id: 'a', kind: 'group', energy: 1, feeds: [{ from: 't', gain: 1 }], share: 1 },
      { id: 'b', kind: 'bus', energy: 1, feeds: [{ from: 'a', gain: 1 }], share: 0 },
    ]);
    const drawn = flowDrawing(flow, FRAME).links.map(({ from, to }) => [from, to]);
    expect(drawn).toHaveLength(2);
    expect(drawn).toEqual(
      expect.arrayContaining([
        ['t', 'a'],
        ['a', null],
      ]),
    );
  });

  test('all fits the height that there is, as long as names have their room', () => {
    const tracks = Array.from({ length: 12 }, (_, n): FlowNode => ({
      id: `t${n}`,
      kind: 'source',
      energy: 1,
      feeds: [],
      share: 0,
    }));
    const feeds = tracks.map(({ id }) => ({ from: id, gain: 1 }));
    const flow = flowOf([...tracks, { id: 'g', kind: 'group', energy: 1, feeds, share: 1 }]);
    const drawing = flowDrawing(flow, FRAME);
    expect(drawing.height).toBeLessThanOrEqual(FRAME.height);
    expect(drawing.height).toBeGreaterThan(0.9 * FRAME.height);
    // Too low for twelve names: it grows instead.
    expect(flowDrawing(flow, { ...FRAME, height: 100 }).height).toBeGreaterThan(12 * 15);
  });
});
