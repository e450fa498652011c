import type { BandGram } from '../../blend/gram/band-gram.ts';

/** Messages to the bands worker. Each sound has its own number. */
export type BandsRequest =
  /** Requests the bands of these sounds; replaces an earlier request. The reply lists the sounds to send. */
  | {
      readonly kind: 'bands';
      readonly ticket: number;
      readonly sounds: readonly number[];
      readonly sampleRate: number;
      readonly frames: number;
    }
  /** The next frames of each requested sound: left and right. The worker asks for more once they are processed. */
  | { readonly kind: 'stretch'; readonly ticket: number; readonly parts: readonly (readonly Float32Array[])[] };

export type BandsReply =
  /** The worker is loaded. */
  | { readonly kind: 'ready' }
  /** The sounds to send, all of them in step; `ends`: the end frame of each stretch. */
  | {
      readonly kind: 'wants';
      readonly ticket: number;
      readonly sounds: readonly number[];
      readonly ends: readonly number[];
    }
  | { readonly kind: 'more'; readonly ticket: number }
  | { readonly kind: 'bands'; readonly ticket: number; readonly bands: BandGram };
