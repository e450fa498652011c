import { CLOSED_DB } from '../../dsp/core/fader-gain.ts';
import { itemTitle, settingText } from '../chain/chain-words.ts';
import type { Mix } from '../graph.ts';
import { controlOf, isControl, itemOfTarget, MIX_BUS } from './controls.ts';
import type { Line, LineTarget, LineValue } from './line-schema.ts';

/** What a target moves, as it is called on the screen, without what it is of: "Fader", "Send to Echo", "EQ: Band 3 gain". */
export const controlTitle = (mix: Mix, target: LineTarget): string => {
  const control = controlOf(mix, target);
  if (!isControl(control)) return target.what;
  const { label, group } = control.parameter;
  if (target.what === 'send') return `Send to ${mix.buses.find(({ id }) => id === target.to)?.name ?? target.to}`;
  const item = itemOfTarget(mix, target);
  if (!item) return label;
  return `${itemTitle({ ...item, on: true, mix: 100 })}: ${group === undefined ? label : `${group} ${label.toLowerCase()}`}`;
};

/** The same with the track, group or bus that it is of: "Drums, fader". */
export const targetTitle = (mix: Mix, target: LineTarget): string => {
  const members = [...mix.tracks, ...mix.groups, ...mix.buses];
  const owner = target.of === MIX_BUS ? 'Mix bus' : (members.find(({ id }) => id === target.of)?.name ?? 'Rough');
  const title = controlTitle(mix, target);
  return `${owner}, ${title.charAt(0).toLowerCase()}${title.slice(1)}`;
};

/** A value of a line, with its unit. */
export const lineValueText = (mix: Mix, target: LineTarget, value: LineValue): string => {
  const control = controlOf(mix, target);
  const isLevel = target.what === 'level' || target.what === 'send';
  if (isLevel && typeof value === 'number' && value <= CLOSED_DB) return '−∞';
  return isControl(control) ? settingText(control.parameter, value) : String(value);
};

/** All points of a line: "0.500 s −3.0 dB, linear; 2.000 s 0.0 dB". How it goes on is said where that is not to hold. */
export const pointsText = (mix: Mix, { target, unit, points }: Line): string =>
  points
    .map(({ at, value, curve }, n) => {
      const place = unit === 'bars' ? `bar ${Number(at.toFixed(3))}` : `${at.toFixed(3)} s`;
      const goesOn = n === points.length - 1 || curve === 'hold' ? '' : `, ${curve}`;
      return `${place} ${lineValueText(mix, target, value)}${goesOn}`;
    })
    .join('; ');
