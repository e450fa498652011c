import { faderGain } from './fader-gain.ts';
import type { GainMatrix } from './gain-matrix.ts';
import { isSameLine, levelAt, lineAt, switchAt, type PreparedLine } from './line.ts';
import { panMatrix, type PanLaw } from './pan.ts';
import { CONTROL_FRAMES } from './processor.ts';

/** Lines that the gain of a signal follows; their gains are multiplied. */
export interface MovingGains {
  /** Levels, dB. */
  readonly levels: readonly PreparedLine[];
  /** Switches: 0 off, 1 on. */
  readonly switches: readonly PreparedLine[];
  /** Pan, -1..1, after all else, of a signal of one or two channels. */
  readonly pan?: { readonly line: PreparedLine; readonly channels: number; readonly law: PanLaw };
}

/** Largest linear gain of moving levels. */
export const loudestGain = ({ levels }: Pick<MovingGains, 'levels'>): number =>
  levels.reduce((gain, { values }) => gain * faderGain(values.reduce((a, b) => Math.max(a, b))), 1);

const areSameLines = (a: readonly PreparedLine[], b: readonly PreparedLine[]): boolean =>
  a.length === b.length && a.every((line, n) => isSameLine(line, b[n]));

export const isSameMoving = (a: MovingGains | undefined, b: MovingGains | undefined): boolean =>
  a === b ||
  (a !== undefined &&
    b !== undefined &&
    areSameLines(a.levels, b.levels) &&
    areSameLines(a.switches, b.switches) &&
    isSameLine(a.pan?.line, b.pan?.line) &&
    a.pan?.channels === b.pan?.channels &&
    a.pan?.law === b.pan?.law);

/** Multiplies the gain of a line over frames of the song into 0..count-1 of `into`, the first of which is frame `place`. */
const multiply = (at: (frame: number) => number, place: number, count: number, into: Float64Array): void => {
  for (let n = 0; n < count;) {
    const block = Math.floor((place + n) / CONTROL_FRAMES) * CONTROL_FRAMES;
    const end = Math.min(count, block + CONTROL_FRAMES - place);
    const from = at(block);
    const step = (at(block + CONTROL_FRAMES) - from) / CONTROL_FRAMES;
    for (; n < end; n++) into[n]! *= from + step * (place + n - block);
  }
};

/**
 * Writes the gain, linear, of levels and switches at frames place.. of the song to 0..count-1 of `into`. Each line is evaluated where
 * control blocks of the song begin, and interpolated linearly: independent of the block length.
 */
export const fillMovingGain = (
  { levels, switches }: Pick<MovingGains, 'levels' | 'switches'>,
  sampleRate: number,
  place: number,
  count: number,
  into: Float64Array,
): void => {
  into.fill(1, 0, count);
  for (const line of levels) multiply((frame) => levelAt(line, frame, sampleRate), place, count, into);
  for (const line of switches) multiply((frame) => switchAt(line, frame, sampleRate), place, count, into);
};

/** A moving level relative to its largest gain. */
export interface MovingLevel extends Pick<MovingGains, 'levels' | 'switches'> {
  /** Linear gain of the levels at their loudest, greater than 0; 1 where there are none. */
  readonly reference: number;
}

export const isSameMovingLevel = (a: MovingLevel | undefined, b: MovingLevel | undefined): boolean =>
  isSameMoving(a, b) && a?.reference === b?.reference;

/** Identifies a moving level: equal text, equal level. */
export const movingText = ({ levels, switches, reference }: MovingLevel): string =>
  [reference, ...[...levels, ...switches].map(({ text }) => text)].join(' ');

/** Writes a level relative to its reference, as `fillMovingGain`. */
export const fillMovingLevel = (
  moving: MovingLevel,
  sampleRate: number,
  place: number,
  count: number,
  into: Float64Array,
): void => {
  fillMovingGain(moving, sampleRate, place, count, into);
  if (moving.reference !== 1) for (let n = 0; n < count; n++) into[n]! /= moving.reference;
};

/** Gains for the pan of a line at a frame of the song. */
export const panAt = ({ line, channels, law }: NonNullable<MovingGains['pan']>, frame: number): GainMatrix =>
  panMatrix(lineAt(line, frame), channels, 1, law);
