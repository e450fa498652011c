import { lineThrough, RATE, WINDOW, type Found, type Line } from './lag-runs.ts';
import { median } from './median.ts';

/** The song is compared with the rough in pieces this long, seconds. */
const PIECE = 0.1;
const SAMPLES = Math.round(PIECE * RATE);

const at = ({ at0, slope }: Line, seconds: number): number => at0 + slope * seconds;

/** Song and rough at 4 kHz, and whether the rough is inverted. */
export interface Compared {
  readonly song: Float32Array;
  readonly rough: Float32Array;
  readonly polarity: 1 | -1;
}

/** Correlation of each piece of the song from `first` on with the rough under a lag, -1..1. */
const likenesses = ({ song, rough, polarity }: Compared, line: Line, first: number, pieces: number): number[] =>
  Array.from({ length: pieces }, (_, n) => {
    const from = first + n * SAMPLES;
    const shift = Math.round(at(line, from / RATE) * RATE);
    let [aa, bb, ab] = [0, 0, 0];
    for (let i = from; i < from + SAMPLES; i++) {
      const [a, b] = [song[i] ?? 0, rough[i + shift] ?? 0];
      aa += a * a;
      bb += b * b;
      ab += a * b;
    }
    return aa > 0 && bb > 0 ? (polarity * ab) / Math.sqrt(aa * bb) : 0;
  });

/** Going from one run to another must explain this much more (log likelihood, pieces taken as independent). */
const PRICE = 8;
/** No piece is believed to be explained but for less than this part. */
const CLOSEST = 1e-3;

/** What a lag leaves of a piece by its likeness: part of the power. */
const leftBy = (likeness: number): number => Math.max(CLOSEST, 1 - Math.max(0, likeness) ** 2);

/** What counts as left in none of the runs: half way (in dB) from what is usually left in one to all. */
const noneOf = (usual: readonly number[]): number => Math.sqrt(median([...usual]));

/**
 * The runs in which pieces of the song really lie. Music that repeats is a little like itself bars away: where a bar is cut out, the windows
 * over it are found where another is like it. So each piece is given to the run that explains it, or to none, with a price for each change
 * (Viterbi's algorithm); of a run those windows are kept whose middle is its own.
 */
export const sureRuns = (sounds: Compared, runs: readonly Found[][]): Found[][] => {
  if (runs.length < 2) return [...runs];
  const pieces = Math.ceil(sounds.song.length / SAMPLES);
  const left = runs.map((run) => likenesses(sounds, lineThrough(run), 0, pieces).map(leftBy));
  const least = Array.from({ length: pieces }, (_, n) => Math.min(...left.map((own) => own[n]!)));
  const none = noneOf(least);
  // The last state is none of the runs.
  const states = runs.length + 1;
  const costOf = (state: number, piece: number): number => Math.log(left[state]?.[piece] ?? none);
  const before: Int32Array[] = [];
  let costs = Array.from({ length: states }, () => 0);
  for (let piece = 0; piece < pieces; piece++) {
    const cheapest = costs.indexOf(Math.min(...costs));
    const from = Int32Array.from(costs, (cost, state) => (cost <= costs[cheapest]! + PRICE ? state : cheapest));
    costs = costs.map((cost, state) => Math.min(cost, costs[cheapest]! + PRICE) + costOf(state, piece));
    before.push(from);
  }
  const path = new Int32Array(pieces);
  for (let piece = pieces - 1, state = costs.indexOf(Math.min(...costs)); piece >= 0; piece--) {
    path[piece] = state;
    state = before[piece]![state]!;
  }
  const isIn = ({ seconds }: Found, state: number): boolean =>
    path[Math.min(pieces - 1, Math.floor((seconds * RATE) / SAMPLES))] === state;
  return runs.map((run, state) => run.filter((each) => isIn(each, state))).filter((run) => run.length > 0);
};

const gainsOver = (left: readonly number[], none: number): number[] => left.map((part) => Math.log(none / part));

const sumOf = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0);

/** How many of the first values add up to most. */
const bestCount = (values: readonly number[]): number => {
  let [sum, most, count] = [0, 0, 0];
  values.forEach((value, n) => {
    sum += value;
    if (sum > most) [most, count] = [sum, n + 1];
  });
  return count;
};

/** An edit is not a plain one where its ends each alone explain this much more (log likelihood). */
const FREE_EDIT = 8;

/** Where a run of windows ends and the next begins, seconds of the song; between them the rough has nothing of it. */
export const borderOf = (sounds: Compared, before: readonly Found[], after: readonly Found[]) => {
  const [last, next] = [before.at(-1)!, after[0]!];
  const [oldLine, newLine] = [before, after].map(lineThrough) as [Line, Line];
  const first = Math.max(0, Math.round((last.seconds - WINDOW / 2) * RATE));
  const pieces = Math.ceil(((next.seconds + WINDOW / 2) * RATE - first) / SAMPLES);
  // By how much each piece is explained better than by none, from what is usually left where the run is sure.
  const inside = Math.max(1, Math.floor(WINDOW / 4 / PIECE));
  const oldLeft = likenesses(sounds, oldLine, first, pieces).map(leftBy);
  const newLeft = likenesses(sounds, newLine, first, pieces).map(leftBy);
  const old = gainsOver(oldLeft, noneOf(oldLeft.slice(0, inside)));
  const fresh = gainsOver(newLeft, noneOf(newLeft.slice(-inside)));
  const end = bestCount(old);
  const start = pieces - bestCount(fresh.toReversed());
  const secondsOf = (n: number): number => (first + n * SAMPLES) / RATE;
  // The plain edit: what the lag jumps by was cut out of the song, or put in between. Music that repeats fits at the wrong place
  // too; both ends together tell the place better than each alone.
  const skipped = Math.max(0, Math.round((last.lag - next.lag) / PIECE));
  const plain = Array.from({ length: pieces + 1 }, (_, n) => sumOf(old.slice(0, n)) + sumOf(fresh.slice(n + skipped)));
  const most = Math.max(...plain);
  const free = sumOf(old.slice(0, end)) + sumOf(fresh.slice(start));
  if (end <= start && most < free - FREE_EDIT) return { end: secondsOf(end), start: secondsOf(start) };
  const change = plain.indexOf(most);
  return { end: secondsOf(change), start: secondsOf(Math.min(pieces, change + skipped)) };
};
