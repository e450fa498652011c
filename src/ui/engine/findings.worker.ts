/// <reference lib="webworker" />
import { ledgerBasisOf, ledgerRows, mixFiguresOf, type LedgerBasis, type LedgerInput } from '../../blend/ledger.ts';
import type { Audio } from '../../dsp/audio.ts';
import { finished } from '../../dsp/steps.ts';
import { mixBusSteps, sumPaths } from '../../render/mix.ts';
import { BlendLevels } from './blend-levels.ts';
import { heardLoudness } from './excerpt.ts';
import type { FindingsReply, FindingsRequest } from './findings-messages.ts';
import { overviewOf } from './overview.ts';
import { sideFindingsSteps } from './side-findings.ts';
import { inSlices, turn } from './slices.ts';

/**
 * Measures off the main thread: sides when they arrive, and the newest blend only. What its products tell follows a
 * moving hand at once; the print is measured when the hand rests.
 */

type Blend = Extract<FindingsRequest, { kind: 'blend' }>;
type LevelsRequest = Extract<FindingsRequest, { kind: 'levels' }>;

const scope = self as unknown as DedicatedWorkerGlobalScope;
const reply = (message: FindingsReply): void => scope.postMessage(message);

let inputs: readonly LedgerInput[] = [];
let basis: LedgerBasis | null = null;
let newest: Blend | null = null;
let followed: Blend | null = null;
/** Of the blend that is followed. */
let levels: BlendLevels | null = null;
let asked: LevelsRequest | null = null;
let answered: LevelsRequest | null = null;
let busy = false;

const cut = ({ sampleRate, channels }: Audio, frames: number): Audio => ({
  sampleRate,
  channels: channels.map((channel) => channel.subarray(0, frames)),
});

/** Answers what was last asked about levels; gives way to a newer question or a newer blend. */
const answerLevels = async (blend: Blend): Promise<void> => {
  while (asked && asked !== answered && levels && newest === blend) {
    const request: LevelsRequest = asked;
    const { ticket, frames } = request;
    for (const side of request.sides) {
      if (!levels.isQuick(side, frames)) {
        reply({ kind: 'level', ticket, side, lufs: levels.estimateOf(side, frames), settled: false });
        await turn();
        if (asked !== request || newest !== blend) break;
      }
      reply({ kind: 'level', ticket, side, lufs: levels.levelOf(side, frames), settled: true });
      await turn();
      if (asked !== request || newest !== blend) break;
    }
    if (asked === request && newest === blend) answered = request;
  }
};

/** What the paths do to this blend, from their products. */
const tellLedger = async (blend: Blend, known: LedgerBasis): Promise<void> => {
  const { ticket } = blend;
  const gains = new Map(blend.gains);
  const ordered = inputs.map(({ id }) => gains.get(id) ?? 0);
  const figures = mixFiguresOf(known, ordered);
  reply({ kind: 'sum', ticket, figures });
  await inSlices(
    (function* () {
      for (const row of ledgerRows(known, ordered, figures)) {
        reply({ kind: 'row', ticket, row });
        yield;
      }
    })(),
    () => newest !== blend,
  );
};

/** Prints this blend and measures the print. */
const tellPrint = async (blend: Blend): Promise<void> => {
  const isOver = (): boolean => newest !== blend;
  const gains = new Map(blend.gains);
  const sounds = new Map(inputs.map(({ id, audio }) => [id, audio]));
  const whole = await inSlices(mixBusSteps(sumPaths(sounds, gains), blend.mixBus), isOver);
  if (!whole) return;
  const printed = cut(whole, blend.soundFrames);
  const findings = await inSlices(sideFindingsSteps(printed), isOver);
  if (!findings) return;
  levels = new BlendLevels(sounds, gains, blend.mixBus, printed);
  reply({ kind: 'mix', ticket: blend.ticket, printed: findings, overview: overviewOf(printed, blend.seconds) });
};

/** Follows one blend step by step; gives way as soon as a newer one has come. */
const follow = async (blend: Blend): Promise<void> => {
  const stale = async (): Promise<boolean> => {
    await turn();
    await answerLevels(blend);
    return newest !== blend;
  };
  levels = null;
  if (basis) await tellLedger(blend, basis);
  if (await stale()) return;
  await tellPrint(blend);
  if (basis || (await stale())) return;
  basis = ledgerBasisOf(inputs.map((input) => ({ ...input, audio: cut(input.audio, blend.soundFrames) })));
  if (await stale()) return;
  await tellLedger(blend, basis);
};

const followNewest = async (): Promise<void> => {
  if (busy) return;
  busy = true;
  while (newest && (newest !== followed || asked !== answered)) {
    if (newest === followed) await answerLevels(newest);
    else {
      followed = newest;
      await follow(newest);
    }
  }
  busy = false;
};

scope.onmessage = ({ data }: MessageEvent<FindingsRequest>) => {
  if (data.kind === 'measure') {
    reply({
      kind: 'measured',
      side: data.side,
      measurement: finished(sideFindingsSteps(data.audio)),
      overview: overviewOf(data.audio, data.seconds),
    });
  } else if (data.kind === 'paths') {
    const known = new Map(inputs.map(({ id, audio }) => [id, audio]));
    inputs = data.paths.map(({ id, doubles, audio }) => ({ id, doubles, audio: audio ?? known.get(id)! }));
    basis = null;
    newest = null;
    levels = null;
  } else if (data.kind === 'loudness') {
    reply({ kind: 'loudness', ticket: data.ticket, lufs: heardLoudness(data.audio) });
  } else if (data.kind === 'levels') {
    asked = data;
    void followNewest();
  } else {
    newest = data;
    void followNewest();
  }
};
