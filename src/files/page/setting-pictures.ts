import { valuesFrom } from '../../dsp/core/parameter.ts';
import { processorOf } from '../../dsp/core/registry.ts';
import { isSplit } from '../../session/chain/chain-items.ts';
import { itemTitle } from '../../session/chain/chain-words.ts';
import type { ChainItems, ProcessorItem } from '../../session/schema.ts';
import { escaped } from './escaped.ts';
import {
  AXES_ROOM,
  axisLabels,
  curvePath,
  fitted,
  restLine,
  stems,
  ticksAcross,
  ticksUp,
  type Frame,
} from './picture-geometry.ts';

// Curves of the settings of a chain as SVG, as in the editor.

const FRAME: Frame = { width: 300, height: 170, ...AXES_ROOM };
/** Points of a curve: more cannot be seen at this size. */
const POINTS = 160;

/** Coordinates of a path to a tenth of a pixel: an HTML page holds many curves. */
const short = (path: string): string =>
  path.replace(/\d+\.\d+/g, (number) => String(Number(Number(number).toFixed(1))));

const pictureOf = ({ processor: id, settings }: ProcessorItem, sampleRate: number, title: string): string => {
  const processor = processorOf(id);
  const points = processor.picture.points(valuesFrom(processor.parameters, settings), sampleRate, POINTS);
  const picture = fitted(processor.picture, points);
  const { width, height, left, right, top, bottom } = FRAME;
  const [across, up] = axisLabels(picture.kind);
  const rest = restLine(picture, FRAME);
  const inside = [
    ...ticksAcross(picture, FRAME).map(
      ({ at, label }) =>
        `<path class="rule" d="${short(`M${at} ${top}V${height - bottom}`)}"/><text x="${at.toFixed(1)}" y="${height - bottom + 14}" text-anchor="middle">${label}</text>`,
    ),
    ...ticksUp(picture, FRAME).map(
      ({ at, label }) =>
        `<path class="rule" d="${short(`M${left} ${at}H${width - right}`)}"/><text x="${left - 6}" y="${(at + 4).toFixed(1)}" text-anchor="end">${label}</text>`,
    ),
    `<text x="${width - right}" y="${height - 3}" text-anchor="end">${across}</text><text x="${left}" y="12">${up}</text>`,
    ...(rest === null ? [] : [`<path class="line before" d="${short(rest)}"/>`]),
    picture.drawn === 'stems'
      ? stems(picture, points, FRAME)
          .map(({ x, top: high, floor }) => `<path class="line" d="${short(`M${x} ${floor}V${high}`)}"/>`)
          .join('')
      : `<path class="line" d="${short(curvePath({ ...picture, drawn: 'line' }, points, FRAME))}"/>`,
  ];
  return `<figure><figcaption>${escaped(title)}</figcaption><svg viewBox="0 0 ${width} ${height}" role="img" aria-label="${escaped(`Curve of ${title}`)}">${inside.join('')}</svg></figure>`;
};

const picturesIn = (chain: ChainItems, sampleRate: number, before: string): string[] =>
  chain.flatMap((item, n) => {
    const place = `${before}${n + 1}`;
    if (isSplit(item)) return picturesIn(item.split, sampleRate, `${place}.`);
    return item.processor === 'gain' ? [] : [pictureOf(item, sampleRate, `${place}. ${itemTitle(item)}`)];
  });

/** Pictures of all processors of a chain, numbered as the recall sheet numbers them; none for gains, which have no curve. '' for no picture. */
export const settingPictures = (chain: ChainItems, sampleRate: number): string => {
  const pictures = picturesIn(chain, sampleRate, '');
  return pictures.length === 0 ? '' : `<div class="pictures">${pictures.join('')}</div>`;
};
