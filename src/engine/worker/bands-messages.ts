import type { BandGram } from '../../blend/gram/band-gram.ts';
import type { Places } from '../../blend/gram/pairs.ts';
import type { Audio } from '../../audio/audio.ts';

/** What the keeper of bands is told. Each but the last is answered with `ready`. */
export type BandsRequest =
  /** Where the sounds stand from now on that were taken before; new ones follow. */
  | { readonly kind: 'arrange'; readonly places: Places }
  | { readonly kind: 'take'; readonly index: number; readonly audio: Audio }
  /** The bands of all paths as they are now. No answer where another message comes before it is there. */
  | { readonly kind: 'bands'; readonly ticket: number };

export type BandsReply =
  /** It can be told more; the first time, once it is loaded. */
  { readonly kind: 'ready' } | { readonly kind: 'bands'; readonly ticket: number; readonly bands: BandGram };
