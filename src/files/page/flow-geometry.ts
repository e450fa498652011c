/** Sources of the loudness of a mix, from the ledger: parts of 1, below 0 where they cancel the rest. */
export interface FlowShares {
  /** Each node after all of its feeds. */
  readonly nodes: readonly { readonly id: string; readonly kind: 'source' | 'group' | 'bus'; readonly share: number }[];
  /** `to` is null where that is the mix. */
  readonly links: readonly { readonly from: string; readonly to: string | null; readonly share: number }[];
}

/** A drawn node: a track, a group, a bus, or the mix at the end. */
export interface DrawnNode {
  readonly id: string | null;
  readonly kind: 'source' | 'group' | 'bus' | 'mix';
  readonly share: number;
  readonly x: number;
  readonly y: number;
  readonly height: number;
}

/** A drawn link; `to` is null where that is the mix. */
export interface DrawnLink {
  readonly from: string;
  readonly to: string | null;
  readonly share: number;
  /** Outline of the stream. */
  readonly path: string;
}

export interface FlowDrawing {
  readonly nodes: readonly DrawnNode[];
  readonly links: readonly DrawnLink[];
  readonly height: number;
}

/** Positions of the columns: the first at `left`, the last at `right`, px. */
interface FlowFrame {
  readonly left: number;
  readonly right: number;
  /** Height to fill if everything fits, px. */
  readonly height: number;
}

/** Width of a node, px. */
export const NODE_WIDTH = 9;
/** Least thickness of a node or stream, px. */
const THINNEST = 1;
/** Least height of a node, for its name, px. */
const NAME_HEIGHT = 15;
const GAP = 5;
/** Least height of the mix, px. */
const LEAST_WHOLE = 110;

type Link = FlowShares['links'][number];

/** An item of a column: a node, or a stream that passes it. */
interface Slot {
  readonly order: number;
  readonly share: number;
  readonly node: string | null | undefined;
  readonly link: Link | null;
}

/** The column of each node: tracks, groups, then buses, each after its feeds; the mix last. */
const columnsOf = ({ nodes, links }: FlowShares): { column: ReadonlyMap<string | null, number>; count: number } => {
  const column = new Map<string | null, number>();
  for (const { id, kind } of nodes) {
    const before = links.filter(({ to }) => to === id).map(({ from }) => column.get(from) ?? 0);
    column.set(id, kind === 'source' ? 0 : kind === 'group' ? 1 : Math.max(1, ...before) + 1);
  }
  const last = Math.max(1, ...column.values()) + 1;
  column.set(null, last);
  return { column, count: last + 1 };
};

const thickness = (share: number, whole: number): number =>
  share === 0 ? 0 : Math.max(THINNEST, Math.abs(share) * whole);
const roomOf = ({ node, share }: Slot, whole: number): number =>
  node === undefined ? thickness(share, whole) : Math.max(NAME_HEIGHT, thickness(share, whole));

const heightOf = (slots: readonly Slot[], whole: number): number =>
  slots.reduce((sum, slot) => sum + roomOf(slot, whole) + GAP, 0);

/** Height of the mix at which the highest column just fits. */
const wholeFor = (columns: readonly (readonly Slot[])[], height: number): number => {
  let [low, high] = [LEAST_WHOLE, Math.max(LEAST_WHOLE, height)];
  for (let n = 0; n < 30; n++) {
    const middle = (low + high) / 2;
    if (columns.every((slots) => heightOf(slots, middle) <= height)) low = middle;
    else high = middle;
  }
  return low;
};

/** The columns, from the top down, ordered so that streams cross as little as possible. */
const slotsOf = (flow: FlowShares): { columns: Slot[][]; column: ReadonlyMap<string | null, number> } => {
  const { column, count } = columnsOf(flow);
  const columns = Array.from({ length: count }, (): Slot[] => []);
  const order = new Map<string | null, number>(flow.nodes.map(({ id }, n) => [id, n]));
  for (const { id, share } of flow.nodes)
    columns[column.get(id)!]!.push({ order: order.get(id)!, share, node: id, link: null });
  for (const link of flow.links.filter(({ share }) => share !== 0)) {
    const place = link.to === null ? order.get(link.from)! : order.get(link.to)! - 0.5;
    for (let at = column.get(link.from)! + 1; at < column.get(link.to)!; at++)
      columns[at]!.push({ order: place, share: link.share, node: undefined, link });
  }
  const whole = flow.links.filter(({ to }) => to === null).reduce((sum, { share }) => sum + share, 0);
  columns[count - 1]!.push({ order: 0, share: whole, node: null, link: null });
  for (const slots of columns) slots.sort((a, b) => a.order - b.order);
  return { columns, column };
};

/** Outline of a stream through points, horizontal at each of them. */
const stream = (points: readonly (readonly [x: number, y: number])[], thick: number): string => {
  const along = (edge: readonly (readonly [number, number])[]): string =>
    edge
      .slice(1)
      .map(([x, y], n) => {
        const [before, from] = edge[n]!;
        const middle = (before + x) / 2;
        return `C${middle} ${from} ${middle} ${y} ${x} ${y}`;
      })
      .join('');
  const bottom = points.map(([x, y]) => [x, y + thick] as const).reverse();
  return `M${points[0]![0]} ${points[0]![1]}${along(points)}L${bottom[0]![0]} ${bottom[0]![1]}${along(bottom)}Z`;
};

/** The complete drawing. Streams have the same thickness from end to end; negative shares are as thick as their size. */
export const flowDrawing = (flow: FlowShares, { left, right, height }: FlowFrame): FlowDrawing => {
  const { columns, column } = slotsOf(flow);
  const whole = wholeFor(columns, height);
  const xOf = (at: number): number => left + ((right - left - NODE_WIDTH) * at) / (columns.length - 1);
  const nodes: DrawnNode[] = [];
  const passing = new Map<Link, [number, number][]>(flow.links.map((link) => [link, []]));
  const tops = new Map<string | null, { in: number; out: number }>();
  const kinds = new Map(flow.nodes.map(({ id, kind }) => [id, kind]));
  columns.forEach((slots, at) => {
    let y = 0;
    for (const slot of slots) {
      const room = roomOf(slot, whole);
      const thick = thickness(slot.share, whole);
      const top = y + (room - thick) / 2;
      if (slot.node === undefined) passing.get(slot.link!)!.push([xOf(at) + NODE_WIDTH / 2, top]);
      else {
        const kind = slot.node === null ? 'mix' : kinds.get(slot.node)!;
        nodes.push({ id: slot.node, kind, share: slot.share, x: xOf(at), y: top, height: thick });
        tops.set(slot.node, { in: top, out: top });
      }
      y += room + GAP;
    }
  });
  const order = (id: string | null): number => (id === null ? -1 : flow.nodes.findIndex((node) => node.id === id));
  // Links are sorted by their order at the start, and again at the end, so that none crosses another at a node.
  const sounding = flow.links.filter(({ share }) => share !== 0);
  const leaving = sounding.toSorted((a, b) => order(a.to) - order(b.to));
  const starts = new Map<Link, number>();
  for (const link of leaving) starts.set(link, takeRoom(tops.get(link.from)!, 'out', thickness(link.share, whole)));
  const arriving = sounding.toSorted((a, b) => order(a.from) - order(b.from));
  const links = arriving.map((link): DrawnLink => {
    const thick = thickness(link.share, whole);
    const end = takeRoom(tops.get(link.to)!, 'in', thick);
    const from = [xOf(column.get(link.from)!) + NODE_WIDTH, starts.get(link)!] as const;
    const to = [xOf(column.get(link.to)!), end] as const;
    return { ...link, path: stream([from, ...passing.get(link)!, to], thick) };
  });
  return { nodes, links, height: Math.max(...columns.map((slots) => heightOf(slots, whole))) };
};

const takeRoom = (tops: { in: number; out: number }, side: 'in' | 'out', thick: number): number => {
  const top = tops[side];
  tops[side] += thick;
  return top;
};
