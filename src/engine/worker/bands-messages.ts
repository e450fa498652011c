import type { BandGram } from '../../blend/gram/band-gram.ts';

/** What the keeper of bands is told. Sounds go by numbers: another one for another sound. */
export type BandsRequest =
  /** The bands of these sounds are wanted, and those asked for before are not any more. It answers with what it must be given. */
  | {
      readonly kind: 'bands';
      readonly ticket: number;
      readonly sounds: readonly number[];
      readonly sampleRate: number;
      readonly frames: number;
    }
  /** The next frames of each sound that it asked for: left and right. It asks for more once it has looked at them. */
  | { readonly kind: 'stretch'; readonly ticket: number; readonly parts: readonly (readonly Float32Array[])[] };

export type BandsReply =
  /** It is loaded. */
  | { readonly kind: 'ready' }
  /** It reads these sounds, all of them in step: `ends` are the frames up to which it wants each next stretch. */
  | {
      readonly kind: 'wants';
      readonly ticket: number;
      readonly sounds: readonly number[];
      readonly ends: readonly number[];
    }
  | { readonly kind: 'more'; readonly ticket: number }
  | { readonly kind: 'bands'; readonly ticket: number; readonly bands: BandGram };
