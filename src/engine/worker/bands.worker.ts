/// <reference lib="webworker" />
import { BandKeeper } from '../../blend/gram/band-keeper.ts';
import type { BandsReply, BandsRequest } from './bands-messages.ts';
import { inSlices } from '../slices.ts';

/** Keeps the spectra of the paths in a thread of its own, and makes their bands while the other half is made elsewhere. */

const scope = self as unknown as DedicatedWorkerGlobalScope;
const reply = (message: BandsReply): void => scope.postMessage(message);

const keeper = new BandKeeper();
let messages = 0;

/** Gives up as soon as anything else has come. */
const tellBands = async (ticket: number): Promise<void> => {
  const own = messages;
  const bands = await inSlices(keeper.bandSteps(), () => messages !== own);
  if (bands) reply({ kind: 'bands', ticket, bands });
};

scope.onmessage = ({ data }: MessageEvent<BandsRequest>) => {
  messages++;
  if (data.kind === 'bands') return void tellBands(data.ticket);
  if (data.kind === 'arrange') keeper.arrange(data.places);
  else keeper.take(data.index, data.audio);
  reply({ kind: 'ready' });
};
reply({ kind: 'ready' });
