import { parseSession } from '../../../src/session/read/parse.ts';
import { sessionText } from '../../../src/session/read/serialize.ts';
import type { Session } from '../../../src/session/schema.ts';
import { BenchEngine } from '../../../src/engine/bench-engine.ts';
import type { AudioFiles, Engine } from '../../../src/engine/engine.ts';
import { until } from '../short-song.ts';

export const settled = (engine: Engine, what: string): Promise<void> =>
  until(() => engine.view.isMeasured, `measuring ${what}`);

/** All that an engine tells of the session in hand: what the panels show, the drawings, and the ledger when asked. */
export const toldBy = async (engine: Engine): Promise<Record<string, unknown>> => {
  const { findings, seconds, missing, state } = engine.view;
  return {
    ...{ findings, seconds, missing, phase: state.phase, message: state.message },
    overviews: (['rough', 'received', 'mix'] as const).map((side) => engine.overview(side)),
    ledger: await engine.ask({ kind: 'ledger', section: null }).catch((error: Error) => error.message),
  };
};

/** Fresh engines, one of them loaded ahead. */
export class FreshEngines {
  private next = new BenchEngine();

  /** What a fresh engine tells that opens the saved session. */
  async told(session: Session, files: AudioFiles): Promise<Record<string, unknown>> {
    const fresh = this.next;
    this.next = new BenchEngine();
    try {
      await fresh.open(parseSession(sessionText(session), 'saved'), files);
      await settled(fresh, 'what was opened afresh');
      return await toldBy(fresh);
    } finally {
      fresh.dispose();
    }
  }

  dispose(): void {
    this.next.dispose();
  }
}

const isNumbers = (value: unknown): value is Float32Array => ArrayBuffer.isView(value) && !(value instanceof DataView);

/** Every single thing that stands in a document, by its place. Curves hold NaN where they have a gap. */
const leavesOf = (value: unknown, at = ''): [place: string, leaf: unknown][] => {
  if (value instanceof Map) return [...value].flatMap(([key, inner]) => leavesOf(inner, `${at}.${String(key)}`));
  if (isNumbers(value)) return [...value].map((number, n) => [`${at}.${n}`, Number.isNaN(number) ? 'gap' : number]);
  if (value === null || typeof value !== 'object') return [[at, value]];
  return Object.entries(value).flatMap(([key, inner]) => leavesOf(inner, `${at}.${key}`));
};

/** Products of paths that change are added up in another order than those of all paths at once. */
const ROUNDING = 1e-6;

const isAlike = (one: unknown, other: unknown): boolean =>
  typeof one === 'number' && typeof other === 'number' ? Math.abs(one - other) <= ROUNDING : one === other;

/** Where two documents differ, and which numbers are none; empty when all is well. */
export const differences = (told: unknown, expected: unknown): string[] => {
  const [own, its] = [leavesOf(told), new Map(leavesOf(expected))];
  const places = new Set(own.map(([place]) => place));
  return [
    ...own.flatMap(([place, leaf]) => {
      if (typeof leaf === 'number' && !Number.isFinite(leaf)) return [`${place} is ${leaf}`];
      return isAlike(leaf, its.get(place)) ? [] : [`${place}: ${String(leaf)}, not ${String(its.get(place))}`];
    }),
    ...[...its].flatMap(([place, leaf]) => (places.has(place) ? [] : [`${place}: missing, not ${String(leaf)}`])),
  ];
};
