import { VARIANTS } from '../../session/passes/variants.ts';
import type { FileForm } from './file-form.ts';
import type { Mp3Kbps } from '../mp3/mp3-write.ts';
import type { DeliveryTarget } from './delivery-targets.ts';
import type { LevelAim } from './print-level.ts';
import type { WavBits } from '../wav/wav-write.ts';

/**
 * main: the mix after the mix bus; instrumental, a cappella and without-lead: the same without the vocal groups, with them alone, or
 * without those that sing the lead, at the gain of the main print. stems: one file a path, before the mix bus; together they are the mix
 * before it. group-stems and returns: of groups, or buses, alone.
 */
export const PRINT_KINDS = ['main', ...VARIANTS, 'stems', 'group-stems', 'returns'] as const;
export type PrintKind = (typeof PRINT_KINDS)[number];

/** Kind of a printed file; the last three are requested by the id of a group or path. */
export type FileKind = PrintKind | 'without' | 'wet' | 'dry';

/** A part of the song, seconds; `name` is used in file names. */
export interface PrintSpan {
  readonly name: string;
  readonly startSeconds: number;
  readonly endSeconds: number;
}

/** Options of a print. Absent options change nothing. */
export interface PrintOrder extends LevelAim {
  readonly bits: WavBits;
  /** Hz; null: that of the session. */
  readonly rate: number | null;
  readonly kinds: readonly PrintKind[];
  /** True: stems get the same gain as the mix; false: they stay at their level. */
  readonly stemsTakeGain: boolean;
  /** Bit rate of an MP3 beside each file of the mix, for listening, kbit/s; null or absent: none is made. */
  readonly mp3Kbps?: Mp3Kbps | null;
  /** WAV if absent; FLAC takes 16 and 24 bits. */
  readonly form?: FileForm;
  /** Shapes the noise of the dither: 16 bits at 44.1 and 48 kHz. */
  readonly shaped?: boolean;
  /** Ids of groups: a mix without each. */
  readonly without?: readonly string[];
  /** Ids of groups and buses: each with its chain and without it, before the mix bus. */
  readonly pairs?: readonly string[];
  /** Each stem goes through the mix bus by itself. */
  readonly stemsThroughMixBus?: boolean;
  /** Several targets in one go, in place of the one of `LevelAim`: the files of the mix are printed for each. */
  readonly targets?: readonly DeliveryTarget[];
  /** Id of the pass that is printed; null or absent: the current mix. */
  readonly pass?: string | null;
  /** null or absent: the whole song. */
  readonly span?: PrintSpan | null;
  /** Silence before and after, s. */
  readonly headSeconds?: number;
  readonly tailSeconds?: number;
  /** A short excerpt of the rough and of the mix, matched in loudness, as MP3, in the report. */
  readonly reportSound?: boolean;
  /** Template of file names: `print-names.ts`; null or absent: the default. */
  readonly names?: string | null;
}

/** Longest silence before or after a print, s. */
export const LONGEST_SILENCE = 60;
