/** What can be told of a received file. */
const WARNING_CODES = [
  'sample-rate',
  'bit-depth',
  'length',
  'start-offset',
  'late-start',
  'clipped',
  'over-full-scale',
  'dc-offset',
  'polarity',
  'channel-polarity',
  'channel-delay',
  'channels-swapped',
  'channel-missing',
  'mono-as-stereo',
  'silent',
  'very-quiet',
  'identical',
  'noise-floor',
  'hum',
  'clicks',
  'dropout',
  'up-sampled',
  'lossy',
  'head-cut',
  'tail-cut',
  'shifted',
] as const;
export type WarningCode = (typeof WARNING_CODES)[number];

/** What a session can do about it, as data. */
export type Fix =
  | { readonly kind: 'polarity' }
  | { readonly kind: 'offset'; readonly seconds: number }
  | { readonly kind: 'gain'; readonly db: number }
  | { readonly kind: 'low cut'; readonly hz: number }
  | { readonly kind: 'notches'; readonly hz: readonly number[] }
  | { readonly kind: 'resample'; readonly sampleRate: number }
  | { readonly kind: 'leave out' }
  | { readonly kind: 'channels'; readonly mode: 'left' | 'right' | 'sum' | 'swap' }
  /** Of the right channel alone. */
  | { readonly kind: 'channel polarity' }
  /** Where the right channel starts against the left; negative: earlier. */
  | { readonly kind: 'channel delay'; readonly seconds: number }
  /** What is heard of the file, seconds from its beginning; null: from or to where it begins or ends. */
  | { readonly kind: 'trim'; readonly from: number | null; readonly to: number | null };

/** What a fix does, in the figure that it is for. */
export interface Effect {
  readonly figure: string;
  readonly before: string;
  readonly after: string;
}

/** One thing that a listener should know of a received file. */
export interface Warning {
  readonly code: WarningCode;
  /** What is so, in one sentence with figures. */
  readonly message: string;
  /** What to do about it. */
  readonly todo: string;
  /** What the session can do; null where only a new file helps, or nothing need be done. */
  readonly fix: Fix | null;
  /** Whether the fix changes nothing but the fault. */
  readonly isSafe: boolean;
  /** What the fix does to the file; null where it has no fix, or none that a figure of the file alone could tell. */
  readonly effect: Effect | null;
}

/** A warning; with a fix it is `safe` or not. */
export const warning = (
  code: WarningCode,
  message: string,
  todo: string,
  fix: Fix | null = null,
  isSafe = false,
  effect: Effect | null = null,
): Warning => ({ code, message, todo, fix, isSafe, effect });

/** "DC offset 1.20 % before, 0.00 % after"; nothing without. */
export const effectWords = (effect: Effect | null): string =>
  effect ? `${effect.figure} ${effect.before} before, ${effect.after} after` : '';
