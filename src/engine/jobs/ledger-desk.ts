import {
  ledgerBasisSteps,
  ledgerRows,
  mixFiguresOf,
  type Ledger,
  type LedgerInput,
} from '../../blend/ledger/ledger.ts';
import type { LedgerRow } from '../../blend/ledger/ledger.ts';
import type { Audio } from '../../audio/audio.ts';
import { partOf } from '../../audio/steps.ts';
import type { Figures } from '../../measure/figures.ts';
import { measureSteps } from '../../measure/measure.ts';
import { totalEnergy, weightedEnergySteps } from '../../measure/weighted-energy.ts';
import { sumPaths } from '../../render/mix.ts';
import { excerptOf } from '../excerpt.ts';
import type { LedgerJob, LedgerPart, MeasuredPaths } from './ledger-jobs.ts';

type Job<P extends LedgerJob['part']> = Extract<LedgerJob, { part: P }>;

/** Parts of the work on all paths that are done once they are held against each other, and once their rows are made. */
const BASIS = 0.6;
const ROWS = 0.8;

/**
 * A part of a ledger over the paths of the mix in hand, step by step; each step yields the part done, 0..1, and `onRow` is
 * told of each row as soon as it is there.
 */
export function* ledgerSteps(
  job: LedgerJob,
  inputs: readonly LedgerInput[],
  onRow: (row: LedgerRow) => void = () => {},
): Generator<number, LedgerPart> {
  if (job.part === 'energy') return yield* energySteps(job.audio);
  if (job.part === 'mix') return yield* mixSteps(job, inputs);
  return yield* pathSteps(job, inputs, onRow);
}

function* energySteps(audio: Audio): Generator<number, number> {
  return totalEnergy(yield* weightedEnergySteps(audio));
}

function* pathSteps(
  { received, gains, frames }: Job<'paths'>,
  inputs: readonly LedgerInput[],
  onRow: (row: LedgerRow) => void,
): Generator<number, MeasuredPaths> {
  const range = frames ? { range: { fromFrame: frames.from, toFrame: frames.to } } : {};
  const basis = yield* partOf(ledgerBasisSteps(inputs, { received, ...range }), 0, BASIS);
  const byId = new Map(gains);
  const ordered = inputs.map(({ id }) => byId.get(id) ?? 0);
  const mix = mixFiguresOf(basis, ordered);
  const rows: LedgerRow[] = [];
  for (const row of ledgerRows(basis, ordered, mix)) {
    rows.push(row);
    onRow(row);
    yield BASIS + ((ROWS - BASIS) * rows.length) / inputs.length;
  }
  const ledger: Ledger = { mix, paths: rows };
  const energies: [string, number][] = [];
  for (const [n, { id, audio }] of inputs.entries()) {
    const steps = energySteps(excerptOf(audio, frames));
    const [from, to] = [n, n + 1].map((place) => ROWS + ((1 - ROWS) * place) / inputs.length) as [number, number];
    energies.push([id, yield* partOf(steps, from, to)]);
  }
  return { ledger, energies };
}

function* mixSteps({ sounds, gains, frames }: Job<'mix'>, inputs: readonly LedgerInput[]): Generator<number, Figures> {
  const otherwise = new Map(sounds.map(({ id, audio }) => [id, audio]));
  const paths = inputs.map(({ id, audio }): [string, Audio] => [id, otherwise.get(id) ?? excerptOf(audio, frames)]);
  return yield* measureSteps(sumPaths(new Map(paths), new Map(gains)));
}
