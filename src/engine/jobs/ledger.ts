import {
  fitted,
  ledgerBasisSteps,
  ledgerRows,
  mixFiguresOf,
  type LedgerBasis,
  type LedgerInput,
  type LedgerRow,
} from '../../blend/ledger/ledger.ts';
import { originsOf } from '../../render/plan/origins.ts';
import { pathNames } from '../../session/graph.ts';
import { partOfJob, stepped, type Job } from '../job.ts';
import type { LedgerQuestion, StretchLedger } from '../questions.ts';
import type { Mix } from '../song.ts';
import type { Workshop } from '../workshop.ts';
import { flowSteps } from './flow.ts';

export type StretchTask = Pick<LedgerQuestion, 'section'>;

/** Parts of a ledger that are done once the mix as received is rendered, once all is measured, and once the rows are made. */
const RECEIVED = 0.1;
const BASIS = 0.6;
const ROWS = 0.8;

/** The rendered paths until the last tail has died away, each with its feeds. */
const inputsOf = ({ plan, paths }: Mix): LedgerInput[] =>
  [...originsOf(plan)].map(([id, origin]) => ({ id, audio: fitted(paths.get(id)!, plan.soundFrames), ...origin }));

/**
 * The change that every path makes to the mix over a range, and the sources of its loudness, before the mix bus; each row is reported as
 * soon as it is computed.
 * @throws Error with one clear sentence when the section begins after the end of the song
 */
export async function* ledger(workshop: Workshop, { section }: StretchTask): Job<StretchLedger, LedgerRow> {
  const { song, session, mix } = workshop;
  const { plan } = mix;
  const frames = workshop.stretch(section);
  const { paths: groups } = yield* partOfJob(song.received(session), 0, RECEIVED);
  const received = [...groups].map(([id, audio]) => ({ id, audio: fitted(audio, plan.soundFrames) }));
  const inputs = inputsOf(mix);
  const range = frames ? { range: { fromFrame: frames.from, toFrame: frames.to } } : {};
  const basis: LedgerBasis = yield* stepped(ledgerBasisSteps(inputs, { received, ...range }), RECEIVED, BASIS);
  const gains = plan.paths.map(({ gain }) => gain);
  const figures = mixFiguresOf(basis, gains);
  const rows: LedgerRow[] = [];
  for (const row of ledgerRows(basis, gains, figures, true, pathNames(session))) {
    rows.push(row);
    yield { row };
    yield { part: BASIS + ((ROWS - BASIS) * rows.length) / inputs.length };
  }
  const shares = new Map(rows.map(({ id, shareOfLoudness }) => [id, shareOfLoudness ?? 0]));
  const flow = yield* stepped(flowSteps(workshop, frames, shares), ROWS, 1);
  return { mix: figures, paths: rows, flow };
}
