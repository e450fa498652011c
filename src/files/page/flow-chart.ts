import { huesOf } from '../../session/hues.ts';
import type { Session } from '../../session/schema.ts';
import { figure, WIDTH } from './charts.ts';
import { escaped } from './escaped.ts';
import { flowDrawing, NODE_WIDTH, type FlowShares } from './flow-geometry.ts';
import { HUE_STYLE } from './hue-style.ts';

/** Style of the picture; negative shares are drawn without fill. */
export const FLOW_STYLE = `${HUE_STYLE}
.stream { fill: var(--hue); opacity: 0.42; }
.place { fill: var(--hue); }
.stream.less, .place.less { fill: none; stroke: var(--hue); stroke-dasharray: 3 2; }
svg text.name { fill: var(--ink); }
svg text.name tspan { fill: var(--soft); }
@media print { * { print-color-adjust: exact; } }
`;

/** Margins for the names of tracks at the left and of the mix at the right, and for text above, px. */
const [LEFT, RIGHT, ABOVE] = [150, 70, 6];
/** Height of a track's name with its gap; the picture is no lower than the second. */
const [NAME, LEAST] = [20, 240];
/** Most letters of a name that are shown. */
const LONGEST = 16;

const percent = (share: number): string =>
  `${(100 * share).toFixed(Math.abs(share) < 0.0995 ? 1 : 0).replace('-', '\u2212')} %`;

/** Where the loudness of the mix comes from: tracks into groups, groups into buses, all into the mix, each stream as thick as its share. */
export const flowChart = (flow: FlowShares, session: Session): string => {
  const { tracks, groups, buses } = session;
  if (flow.links.every(({ share }) => share === 0)) return '';
  const names = new Map([...tracks, ...groups, ...buses].map(({ id, name }) => [id, name]));
  const owners = new Map(tracks.map(({ id, group }) => [id, group]));
  const hues = huesOf(session);
  const nameOf = (id: string | null): string => (id === null ? 'Mix' : (names.get(id) ?? 'Rough'));
  const shown = (name: string): string => (name.length > LONGEST ? `${name.slice(0, LONGEST - 1)}…` : name);
  const hue = (id: string | null): string => {
    const number = id === null ? undefined : hues.get(owners.get(id) ?? id);
    return number === undefined ? 'var(--soft)' : `var(--hue-${number})`;
  };
  const rows = Math.max(tracks.length, groups.length + buses.length);
  const frame = { left: LEFT, right: WIDTH + 48 - RIGHT, height: Math.max(LEAST, rows * NAME) };
  const { nodes, links, height } = flowDrawing(flow, frame);
  const streams = links.map(
    ({ from, to, share, path }) =>
      `<path class="stream${share < 0 ? ' less' : ''}" style="--hue: ${hue(from)}" d="${path}"><title>${escaped(`${nameOf(from)} to ${nameOf(to)}: ${percent(share)}`)}</title></path>`,
  );
  const places = nodes.map(({ id, kind, share, x, y, height: high }) => {
    const isFirst = kind === 'source';
    const at = isFirst ? x - 7 : x + NODE_WIDTH + 6;
    return `<rect class="place${share < 0 ? ' less' : ''}" style="--hue: ${hue(id)}" x="${x}" y="${y}" width="${NODE_WIDTH}" height="${high}"/><text class="name" x="${at}" y="${y + high / 2}" dy="0.35em" text-anchor="${isFirst ? 'end' : 'start'}">${escaped(shown(nameOf(id)))} <tspan>${percent(share)}</tspan></text>`;
  });
  const title = 'Where the loudness of the mix comes from, before the mix bus';
  const svg = `<svg viewBox="0 ${-ABOVE} ${WIDTH + 48} ${height + 2 * ABOVE}" role="img" aria-label="${title}">${streams.join('')}${places.join('')}</svg>`;
  return figure(title, svg, []);
};
