/// <reference lib="webworker" />
import {
  ledgerRows,
  mixFiguresOf,
  type LedgerBasis,
  type LedgerInput,
  type LedgerRow,
} from '../../blend/ledger/ledger.ts';
import type { SweepRow } from '../../blend/sweep/sweep.ts';
import { framesOf, onBothSides, type Audio } from '../../audio/audio.ts';
import { finished } from '../../audio/steps.ts';
import { mixBusSteps, sumPaths } from '../../render/mix.ts';
import { pathNames } from '../../session/graph.ts';
import { BandsClient } from './bands-client.ts';
import { BasisBuild } from './basis-build.ts';
import {
  benchOf,
  bringUpSteps,
  printGuards,
  receivedGroupsSteps,
  type Desk,
  type ReceivedGroups,
} from '../jobs/blend-desk.ts';
import { BlendLevels } from './blend-levels.ts';
import type { Heard, SideFindings } from '../engine.ts';
import { heardLoudness } from '../../measure/heard.ts';
import type { FindingsReply, FindingsRequest } from './findings-messages.ts';
import { ledgerSteps } from '../jobs/ledger-desk.ts';
import type { LedgerPart } from '../jobs/ledger-jobs.ts';
import { overviewOf } from './overview.ts';
import { NO_ANSWER, NOTHING_SOUNDS, SOUND_CHANGED, type Answers, type Question } from '../questions.ts';
import { sideFindingsSteps } from './side-findings.ts';
import { plainSentence } from '../message.ts';
import { inSlices, pause, toldOf, turn } from '../slices.ts';
import { answerSolve, type LedMix, type SolveQuestion } from '../jobs/solve-desk.ts';
import { stageAnswerSteps } from '../jobs/stage-desk.ts';
import { SweepDesk } from '../jobs/sweep-desk.ts';

/**
 * Measures off the main thread: sides when they arrive, and the newest blend only. What its products tell follows a
 * moving hand at once; the print is measured when the hand rests.
 */

type Blend = Extract<FindingsRequest, { kind: 'blend' }>;
type LevelsRequest = Extract<FindingsRequest, { kind: 'levels' }>;

const scope = self as unknown as DedicatedWorkerGlobalScope;
const reply = (message: FindingsReply): void => scope.postMessage(message);

const bandsClient = new BandsClient();
let inputs: readonly LedgerInput[] = [];
/** Of the newest paths, over the length of a blend of them; null while it is being made. */
let basis: LedgerBasis | null = null;
/** The last one, which sounds that have not changed are taken over from. */
let earlier: LedgerBasis | null = null;
let building: BasisBuild | null = null;
/** The measuring of the groups as received, until it is done. */
let receiving: Generator<number, ReceivedGroups> | null = null;
let receivedShares: ReadonlyMap<string, number> | null = null;
/** Groups as received that are one sound with another. */
let twins: LedgerBasis['twins'] = new Map();
/** As guards look at them. */
const sides: Record<'rough' | 'received', SideFindings | null> = { rough: null, received: null };
/** The print of the newest blend, once it is measured. */
let printed: SideFindings | null = null;
let newest: Blend | null = null;
let followed: Blend | null = null;
/** Of the blend that is followed. */
let levels: BlendLevels | null = null;
let asked: LevelsRequest | null = null;
/** The request of which what is compared has been answered, and the one that has been answered whole. */
let comparedOf: LevelsRequest | null = null;
let answered: LevelsRequest | null = null;
let busy = false;
/** The sweep that is under way. */
let sweeping: SweepDesk | null = null;

const cuts = new WeakMap<Audio, Audio>();

/** The first `frames` of a sound: the same object as long as it is the same stretch of the same sound. */
const cut = (audio: Audio, frames: number): Audio => {
  const known = cuts.get(audio);
  if (known && framesOf(known) === frames) return known;
  const { sampleRate, channels } = audio;
  const made = { sampleRate, channels: channels.map((channel) => channel.subarray(0, frames)) };
  cuts.set(audio, made);
  return made;
};

/** One question about levels, and when it is over. */
interface LevelsJob {
  readonly known: BlendLevels;
  readonly request: LevelsRequest;
  readonly isOver: () => boolean;
}

/** Estimates those that take long to measure. */
const tellEstimates = async ({ known, request, isOver }: LevelsJob, sides: readonly Heard[]): Promise<void> => {
  const { ticket, frames } = request;
  for (const side of sides) {
    if (known.isQuick(side, frames)) continue;
    reply({ kind: 'level', ticket, side, lufs: known.estimateOf(side, frames), settled: false });
    await turn();
    if (isOver()) return;
  }
};

const tellMeasured = async ({ known, request, isOver }: LevelsJob, side: Heard): Promise<void> => {
  const { ticket, frames } = request;
  const found = await inSlices(wrapped(known.levelSteps(side, frames)), isOver);
  if (!found) return;
  reply({ kind: 'level', ticket, side, lufs: found.answer, settled: true });
  await turn();
};

/** Sends the levels of the sides that are compared: first an estimate, then the measured value. */
const tellCompared = async (job: LevelsJob): Promise<void> => {
  for (const side of job.request.compared) {
    await tellEstimates(job, [side]);
    if (!job.isOver()) await tellMeasured(job, side);
    if (job.isOver()) return;
  }
  comparedOf = job.request;
};

/** What may be compared next. Of the whole song the ledger has told enough until it is measured. Questions come first. */
const tellOthers = async (job: LevelsJob): Promise<void> => {
  const { others, frames } = job.request;
  if (frames) await tellEstimates(job, others);
  for (const side of others) {
    while (open.size > 0 && !job.isOver()) await pause();
    if (!job.isOver()) await tellMeasured(job, side);
    if (job.isOver()) return;
  }
  answered = job.request;
};

/** Answers what was last asked about levels, `all` or what is compared; gives way to a newer question or a newer blend. */
const answerLevels = async (blend: Blend, all: boolean): Promise<void> => {
  while (asked && levels && newest === blend && asked !== (all ? answered : comparedOf)) {
    const request: LevelsRequest = asked;
    const job = { known: levels, request, isOver: () => asked !== request || newest !== blend };
    if (request !== comparedOf) await tellCompared(job);
    if (all && !job.isOver()) await tellOthers(job);
  }
};

const orderedGains = (blend: Blend): number[] => {
  const gains = new Map(blend.gains);
  return inputs.map(({ id }) => gains.get(id) ?? 0);
};

const deskOf = (blend: Blend, known: LedgerBasis): Desk => ({
  session: blend.session,
  basis: known,
  gains: orderedGains(blend),
  mixBus: blend.mixBus,
  references: {
    rough: blend.against.includes('rough') ? sides.rough : null,
    received: blend.against.includes('received') ? sides.received : null,
    receivedShares,
  },
});

/** Whether a basis is of the length that the song has in this blend: a blend may let a tail end sooner or later. */
const isOf = (known: LedgerBasis | null, blend: Blend): known is LedgerBasis =>
  known?.query.frames === blend.soundFrames;

/** What the paths do to this blend, from their products. */
const tellLedger = async (blend: Blend, known: LedgerBasis): Promise<void> => {
  const { ticket } = blend;
  const gains = orderedGains(blend);
  const nameOf = pathNames(blend.session);
  // The hand is followed at once; peaks take longer to find, and a song of another length is measured first.
  for (const quick of isOf(known, blend) ? [true, false] : [true]) {
    const figures = mixFiguresOf(known, gains, !quick);
    if (!quick) reply({ kind: 'sum', ticket, figures });
    const rows = await inSlices(gathered(ledgerRows(known, gains, figures, !quick, nameOf)), () => newest !== blend);
    if (!rows) return;
    reply({ kind: 'rows', ticket, rows, quick });
  }
};

/** All of what comes one by one: the screen is drawn anew once, not for every row. */
function* gathered<T>(steps: Generator<T>): Generator<void, T[]> {
  const all: T[] = [];
  for (const one of steps) {
    all.push(one);
    yield;
  }
  return all;
}

/** What the guards say of the print. */
const tellGuards = (blend: Blend, known: LedgerBasis, print: SideFindings): void =>
  reply({ kind: 'guards', ticket: blend.ticket, results: printGuards(benchOf(deskOf(blend, known)), print) });

/** Parts of the measuring of a blend that are done once it is printed, once the print is measured, and once the tracks are. */
const PRINTED = 0.1;
const PRINT_MEASURED = 0.3;
const RECEIVED_MEASURED = 0.5;

/** Tells how much of the measuring of a blend is done. */
const tellPart = (blend: Blend, part: number): void => reply({ kind: 'measuring', ticket: blend.ticket, part });

/** Measures the groups as received, where that is still to be done, or goes on where a newer blend broke in. */
const measureReceived = async (blend: Blend): Promise<void> => {
  if (!receiving) return;
  const span = RECEIVED_MEASURED - PRINT_MEASURED;
  const measuring = toldOf(receiving, (part) => tellPart(blend, PRINT_MEASURED + span * part));
  const found = await inSlices(measuring, () => newest !== blend);
  if (!found) return;
  receivedShares = found.shares;
  twins = found.twins;
  receiving = null;
  if (basis) basis = earlier = { ...basis, twins };
};

/** Makes the basis of the newest paths over the length of the song, or goes on where a newer blend broke in. */
const makeBasis = async (blend: Blend): Promise<void> => {
  const { soundFrames } = blend;
  if (building?.frames !== soundFrames) {
    const cutInputs = inputs.map((input) => ({ ...input, audio: cut(input.audio, soundFrames) }));
    building = new BasisBuild(cutInputs, earlier, bandsClient, soundFrames);
  }
  const query = await building.advance(
    () => newest !== blend,
    (part) => tellPart(blend, RECEIVED_MEASURED + (1 - RECEIVED_MEASURED) * part),
  );
  if (!query) return;
  basis = earlier = { inputs: building.inputs, received: [], query, twins };
  building = null;
};

/** Prints this blend and measures the print. */
const tellPrint = async (blend: Blend): Promise<void> => {
  const isOver = (): boolean => newest !== blend;
  const gains = new Map(blend.gains);
  const sounds = new Map(inputs.map(({ id, audio }) => [id, audio]));
  const printing = mixBusSteps(sumPaths(sounds, gains), blend.mixBus);
  const whole = await inSlices(
    toldOf(printing, (part) => tellPart(blend, PRINTED * part)),
    isOver,
  );
  if (!whole) return;
  const print = cut(whole, blend.soundFrames);
  const span = PRINT_MEASURED - PRINTED;
  const measuring = toldOf(sideFindingsSteps(print), (part) => tellPart(blend, PRINTED + span * part));
  const findings = await inSlices(measuring, isOver);
  if (!findings) return;
  levels = new BlendLevels(sounds, gains, blend.mixBus, print);
  printed = findings;
  reply({ kind: 'mix', ticket: blend.ticket, printed: findings, overview: overviewOf(print, blend.seconds) });
};

/** Follows one blend step by step; gives way as soon as a newer one has come. */
const follow = async (blend: Blend): Promise<void> => {
  const stale = async (): Promise<boolean> => {
    await turn();
    await answerLevels(blend, false);
    return newest !== blend;
  };
  levels = null;
  printed = null;
  // What is known already follows the hand; a new song shows its print first.
  if (basis) await tellLedger(blend, basis);
  if (await stale()) return;
  await tellPrint(blend);
  if (await stale()) return;
  const hasNews = receiving !== null || !isOf(basis, blend);
  await measureReceived(blend);
  if (receiving || (await stale())) return;
  if (!isOf(basis, blend)) await makeBasis(blend);
  if (!isOf(basis, blend) || (await stale())) return;
  if (hasNews) await tellLedger(blend, basis);
  if (!printed || (await stale())) return;
  tellGuards(blend, basis, printed);
  reply({ kind: 'settled', ticket: blend.ticket });
};

/** Questions that are being answered, by ticket. */
const open = new Set<number>();

const refuse = (ticket: number, message: string): void => {
  open.delete(ticket);
  reply({ kind: 'refusal', ticket, message });
};

/** Answers by steps that report how far they are; null where `isOver` came true. */
const answerBy = async (
  ticket: number,
  steps: () => Generator<number, Answers[Question['kind']] | LedgerPart>,
  isOver: () => boolean,
): Promise<void> => {
  open.add(ticket);
  try {
    const found = await inSlices(wrapped(reported(ticket, steps())), isOver);
    if (found) reply({ kind: 'answer', ticket, answer: found.answer });
    else if (open.has(ticket)) refuse(ticket, SOUND_CHANGED);
  } catch (error) {
    refuse(ticket, plainSentence(error, NO_ANSWER));
  }
  open.delete(ticket);
};

/** An answer may be null, which is not the same as none. */
function* wrapped<S, R>(steps: Generator<S, R>): Generator<S, { readonly answer: R }> {
  return { answer: yield* steps };
}

/** The mix as it stands, once it is measured; null: the question was withdrawn, or there is no mix, which is then the answer. */
const deskInHand = async (ticket: number): Promise<Desk | null> => {
  open.add(ticket);
  while (inputs.length > 0 && open.has(ticket)) {
    if (newest && isOf(basis, newest)) return deskOf(newest, basis);
    await pause();
  }
  if (open.has(ticket)) refuse(ticket, NOTHING_SOUNDS);
  return null;
};

/** True once a question is not wanted any more, or the sound that it is about has gone. */
const overFor =
  (ticket: number, { basis: known }: Desk): (() => boolean) =>
  () =>
    !open.has(ticket) || basis !== known;

const answerBlend = async ({ ticket, question }: Extract<FindingsRequest, { kind: 'ask' }>): Promise<void> => {
  const desk = await deskInHand(ticket);
  if (!desk) return;
  const isOver = overFor(ticket, desk);
  if (question.kind === 'solve') await answerSolving(ticket, question, desk, isOver);
  else await answerBy(ticket, () => bringUpSteps(question, desk), isOver);
};

/** Mixes that searches for blends wait for, by ticket. */
const mixesAwaited = new Map<number, (mix: LedMix | string) => void>();

const answerSolving = async (
  ticket: number,
  question: SolveQuestion,
  desk: Desk,
  isOver: () => boolean,
): Promise<void> => {
  const goOn = (): void => {
    if (isOver()) throw new Error(SOUND_CHANGED);
  };
  open.add(ticket);
  try {
    const answer = await answerSolve(question, desk, new Map(inputs.map(({ id, audio }) => [id, audio])), {
      mixWith: async (blends) => {
        goOn();
        reply({ kind: 'led', ticket, blends });
        const mix = await new Promise<LedMix | string>((resolve) => mixesAwaited.set(ticket, resolve));
        goOn();
        if (typeof mix === 'string') throw new Error(mix);
        return mix;
      },
      run: async (steps) => {
        const found = await inSlices(wrapped(steps), isOver);
        if (!found) throw new Error(SOUND_CHANGED);
        return found.answer;
      },
      pace: async () => {
        await turn();
        goOn();
      },
    });
    reply({ kind: 'answer', ticket, answer });
  } catch (error) {
    if (open.has(ticket)) refuse(ticket, plainSentence(error, NO_ANSWER));
  }
  mixesAwaited.delete(ticket);
  open.delete(ticket);
};

const tellRow =
  (ticket: number) =>
  (row: SweepRow | LedgerRow): void =>
    reply({ kind: 'row', ticket, row });

const answerSweep = async ({ ticket, job }: Extract<FindingsRequest, { kind: 'sweep' }>): Promise<void> => {
  const { begin, round, isLast } = job;
  const desk = await deskInHand(ticket);
  if (!desk) return;
  if (begin) sweeping = new SweepDesk(desk, new Map(inputs.map(({ id, audio }) => [id, audio])), begin);
  const current = sweeping;
  if (!current || current.desk.basis !== desk.basis) return refuse(ticket, SOUND_CHANGED);
  await answerBy(ticket, () => current.steps(round, tellRow(ticket)), overFor(ticket, desk));
  if (isLast && sweeping === current) sweeping = null;
};

const answerLedger = async ({ ticket, job }: Extract<FindingsRequest, { kind: 'ledger' }>): Promise<void> => {
  const desk = await deskInHand(ticket);
  if (!desk) return;
  if (job.part !== 'energy' && job.soundFrames !== desk.basis.query.frames) return refuse(ticket, SOUND_CHANGED);
  await answerBy(ticket, () => ledgerSteps(job, desk.basis.inputs, tellRow(ticket)), overFor(ticket, desk));
};

const answerStage = ({ ticket, job }: Extract<FindingsRequest, { kind: 'stage' }>): Promise<void> =>
  answerBy(
    ticket,
    () => stageAnswerSteps(job),
    () => !open.has(ticket),
  );

function* reported<R>(ticket: number, steps: Generator<number, R>): Generator<number, R> {
  for (;;) {
    const next = steps.next();
    if (next.done) return next.value;
    reply({ kind: 'part', ticket, part: next.value });
    yield next.value;
  }
}

const followNewest = async (): Promise<void> => {
  if (busy) return;
  busy = true;
  while (newest && (newest !== followed || asked !== answered)) {
    if (newest === followed) await answerLevels(newest, true);
    else {
      followed = newest;
      await follow(newest);
    }
  }
  busy = false;
};

const takeSide = ({ side, audio, seconds }: Extract<FindingsRequest, { kind: 'measure' }>): void => {
  const measurement = finished(sideFindingsSteps(audio));
  // A mix is held against what is heard, which of one channel comes out of both loudspeakers.
  sides[side] = audio.channels.length === 1 ? finished(sideFindingsSteps(onBothSides(audio))) : measurement;
  reply({ kind: 'measured', side, measurement, overview: overviewOf(audio, seconds) });
};

/** Sounds that have come and are not taken yet, by name. */
const arrivals = new Map<string, Audio>();

/** Takes a sound that has come. */
const arrived = (name: string): Audio | undefined => {
  const audio = arrivals.get(name);
  arrivals.delete(name);
  return audio;
};

const takePaths = ({ paths }: Extract<FindingsRequest, { kind: 'paths' }>): void => {
  const known = new Map(inputs.map(({ id, audio }) => [id, audio]));
  inputs = paths.map((path) => ({ ...path, audio: arrived(`path ${path.id}`) ?? known.get(path.id)! }));
  basis = null;
  building = null;
  newest = null;
  levels = null;
  sweeping = null;
};

/** There is no mix: whoever waits is told so. */
const takeNothing = ({ ticket }: Extract<FindingsRequest, { kind: 'nothing' }>): void => {
  takePaths({ kind: 'paths', paths: [] });
  reply({ kind: 'settled', ticket });
};

const takeGroups = ({ ids }: Extract<FindingsRequest, { kind: 'groups' }>): void => {
  const groups = ids.map((id) => ({ id, audio: arrived(`group ${id}`)! }));
  receivedShares = null;
  receiving = receivedGroupsSteps(groups);
};

scope.onmessage = ({ data }: MessageEvent<FindingsRequest>) => {
  if (data.kind === 'measure') takeSide(data);
  else if (data.kind === 'sound') arrivals.set(data.name, data.audio);
  else if (data.kind === 'paths') takePaths(data);
  else if (data.kind === 'groups') takeGroups(data);
  else if (data.kind === 'nothing') takeNothing(data);
  else if (data.kind === 'ask') void answerBlend(data);
  else if (data.kind === 'mix with') mixesAwaited.get(data.ticket)?.(data.mix);
  else if (data.kind === 'stage') void answerStage(data);
  else if (data.kind === 'sweep') void answerSweep(data);
  else if (data.kind === 'ledger') void answerLedger(data);
  else if (data.kind === 'forget') open.delete(data.ticket);
  else if (data.kind === 'loudness') reply({ kind: 'loudness', ticket: data.ticket, lufs: heardLoudness(data.audio) });
  else if (data.kind === 'levels') {
    asked = data;
    void followNewest();
  } else {
    newest = data;
    void followNewest();
  }
};
reply({ kind: 'listening' });
