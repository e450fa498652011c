/// <reference lib="webworker" />
import { ledgerBasisOf, ledgerRows, mixFiguresOf, type LedgerBasis, type LedgerInput } from '../../blend/ledger.ts';
import type { Audio } from '../../dsp/audio.ts';
import { measureFully } from '../../measure/measure.ts';
import { sumPaths, throughMixBus } from '../../render/mix.ts';
import type { FindingsReply, FindingsRequest } from './findings-messages.ts';
import type { SideFindings } from './engine.ts';
import { overTimeOf } from './over-time.ts';
import { overviewOf } from './overview.ts';

/** Measures off the main thread: sides when they arrive, the mix and the ledger for the newest blend only. */

type Blend = Extract<FindingsRequest, { kind: 'blend' }>;

const scope = self as unknown as DedicatedWorkerGlobalScope;
const reply = (message: FindingsReply): void => scope.postMessage(message);
const turn = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 0));

let inputs: readonly LedgerInput[] = [];
let basis: LedgerBasis | null = null;
let newest: Blend | null = null;
let busy = false;

const cut = ({ sampleRate, channels }: Audio, frames: number): Audio => ({
  sampleRate,
  channels: channels.map((channel) => channel.subarray(0, frames)),
});

const sideFindingsOf = (audio: Audio): SideFindings => {
  const { figures, details, series } = measureFully(audio);
  return { ...figures, details, overTime: overTimeOf(series) };
};

/** Follows one blend step by step; gives way as soon as a newer one has come. */
const follow = async (blend: Blend): Promise<void> => {
  const stale = async (): Promise<boolean> => {
    await turn();
    return newest !== blend;
  };
  const gains = new Map(blend.gains);
  const sounds = new Map(inputs.map(({ id, audio }) => [id, audio]));
  const printed = cut(throughMixBus(sumPaths(sounds, gains), blend.mixBus), blend.soundFrames);
  reply({
    kind: 'mix',
    ticket: blend.ticket,
    printed: sideFindingsOf(printed),
    overview: overviewOf(printed, blend.seconds),
  });
  if (await stale()) return;
  basis ??= ledgerBasisOf(inputs.map((input) => ({ ...input, audio: cut(input.audio, blend.soundFrames) })));
  if (await stale()) return;
  const ordered = inputs.map(({ id }) => gains.get(id) ?? 0);
  const figures = mixFiguresOf(basis, ordered);
  reply({ kind: 'sum', ticket: blend.ticket, figures });
  for (const row of ledgerRows(basis, ordered, figures)) {
    reply({ kind: 'row', ticket: blend.ticket, row });
    if (await stale()) return;
  }
  reply({ kind: 'done', ticket: blend.ticket });
};

const followNewest = async (): Promise<void> => {
  if (busy) return;
  busy = true;
  for (let done: Blend | null = null; newest && newest !== done;) {
    done = newest;
    await follow(done);
  }
  busy = false;
};

scope.onmessage = ({ data }: MessageEvent<FindingsRequest>) => {
  if (data.kind === 'measure') {
    reply({
      kind: 'measured',
      side: data.side,
      measurement: sideFindingsOf(data.audio),
      overview: overviewOf(data.audio, data.seconds),
    });
  } else if (data.kind === 'paths') {
    const known = new Map(inputs.map(({ id, audio }) => [id, audio]));
    inputs = data.paths.map(({ id, doubles, audio }) => ({ id, doubles, audio: audio ?? known.get(id)! }));
    basis = null;
    newest = null;
  } else {
    newest = data;
    void followNewest();
  }
};
