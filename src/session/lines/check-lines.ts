import type { Parameter } from '../../dsp/core/parameter.ts';
import { checkSetting } from '../chain/check-chain.ts';
import type { Mix } from '../graph.ts';
import { described, listed } from '../problem.ts';
import { pathText, type Fault, type JsonPath } from '../read/reading-order.ts';
import type { ProcessorItem } from '../schema.ts';
import { controlOf, isControl, itemOfTarget, stillness, targetText, type NoControl } from './controls.ts';
import type { Line, LinePoint } from './line-schema.ts';

/** Up to so many names are listed in a sentence. */
const FEW = 12;

const noControlFault = (target: Line['target'], { field, expected }: NoControl, path: JsonPath): Fault => {
  const names = expected.length > FEW ? [...expected.slice(0, FEW), '…'] : expected;
  const what = names.length === 0 ? 'something that is there (there is nothing of the kind)' : listed(names);
  return { code: 'missing-target', path: [...path, field], expected: what, found: described(target[field]) };
};

/** Fields of a target that say something that its kind has no use for. */
const spareFaults = (target: Line['target'], path: JsonPath): Fault[] => {
  const used = { send: ['to'], parameter: ['item', 'parameter'], mix: ['item'], bypass: ['item'] } as const;
  const uses: readonly string[] = target.what in used ? used[target.what as keyof typeof used] : [];
  return (['to', 'item', 'parameter'] as const).flatMap((field): Fault[] => {
    if (target[field] === undefined || uses.includes(field)) return [];
    const expected = `left out, as a line of ${described(target.what)} has no use for it`;
    return [{ code: 'out-of-range', path: [...path, field], expected, found: described(target[field]) }];
  });
};

/** Curves that can lead from one value of this parameter to another. */
export const curvesOf = (parameter: Parameter): readonly LinePoint['curve'][] => {
  if (parameter.kind !== 'number') return ['hold'];
  return parameter.min > 0 ? ['hold', 'linear', 'exponential', 's-curve'] : ['hold', 'linear', 's-curve'];
};

const pointFaults = ({ points, unit }: Line, parameter: Parameter, path: JsonPath): Fault[] =>
  points.flatMap((point, n): Fault[] => {
    const here = [...path, 'points', n];
    const faults: Fault[] = [];
    const before = points[n - 1];
    if (unit === 'bars' && point.at < 1) {
      const expected = '1 or more, as the first bar of the song begins at 1';
      faults.push({ code: 'out-of-range', path: [...here, 'at'], expected, found: String(point.at) });
    }
    if (before && point.at <= before.at) {
      const expected = `later than the point before it, at ${before.at}`;
      faults.push({ code: 'out-of-range', path: [...here, 'at'], expected, found: String(point.at) });
    }
    // A note value would move with the tempo, and not with the line.
    const plain = parameter.kind === 'number' ? { ...parameter, noteValues: undefined } : parameter;
    const fault = checkSetting(plain as Parameter, point.value, [...here, 'value']);
    if (fault) faults.push(fault);
    const curves = curvesOf(parameter);
    if (n < points.length - 1 && !curves.includes(point.curve)) {
      const why =
        parameter.kind === 'number'
          ? ' (equal factors need values that are always above 0)'
          : ' (there is nothing between)';
      faults.push({
        ...{ code: 'unknown-name', path: [...here, 'curve'], expected: `${listed(curves)}${why}` },
        found: described(point.curve),
      });
    }
    return faults;
  });

const stillFaults = (mix: Mix, { target }: Line, sampleRate: number, path: JsonPath): Fault[] => {
  if (target.what !== 'parameter') return [];
  const item = itemOfTarget(mix, target) as ProcessorItem;
  const still = stillness(item, target.parameter!, sampleRate);
  if (!still) return [];
  const why = still === 'latency' ? 'changes the delay of its processor' : 'changes what its processor listens to';
  const expected = `a parameter that a line can move (this one ${why}, so it must stand still)`;
  return [{ code: 'out-of-range', path: [...path, 'parameter'], expected, found: described(target.parameter) }];
};

/** What is wrong with the lines of a mix that stands at the top of the session, or of a pass: targets, ranges, times. */
export const lineFaults = (mix: Mix, sampleRate: number): Fault[] => {
  const targets = new Map<string, JsonPath>();
  const ids = new Map<string, JsonPath>();
  return mix.lines.flatMap((line, n): Fault[] => {
    const path = ['lines', n];
    const faults: Fault[] = [];
    const sameId = ids.get(line.id);
    if (sameId) {
      const found = `${described(line.id)}, which ${pathText(sameId)} already has`;
      faults.push({ code: 'duplicate-id', path: [...path, 'id'], expected: 'an id of its own', found });
    }
    ids.set(line.id, sameId ?? path);
    const sameTarget = targets.get(targetText(line.target));
    if (sameTarget) {
      const found = `that of ${pathText(sameTarget)}`;
      faults.push({
        code: 'duplicate-id',
        path: [...path, 'target'],
        expected: 'something that no other line moves',
        found,
      });
    }
    targets.set(targetText(line.target), sameTarget ?? path);
    const control = controlOf(mix, line.target);
    if (!isControl(control)) return [...faults, noControlFault(line.target, control, [...path, 'target'])];
    return [
      ...faults,
      ...spareFaults(line.target, [...path, 'target']),
      ...stillFaults(mix, line, sampleRate, [...path, 'target']),
      ...pointFaults(line, control.parameter, path),
    ];
  });
};
