import type { LevelAim } from './print-level.ts';

/** Loudness and true peak that a delivery asks for. */
export interface DeliveryTarget extends LevelAim {
  /** Its name in files and options. */
  readonly name: string;
}

/** A target with a known name, and the source of its values. */
interface KnownTarget extends DeliveryTarget {
  readonly source: string;
}

/** Deliveries by name. Programme that is spoken or mixed for cinema has others. */
export const DELIVERY_TARGETS: readonly KnownTarget[] = [
  { name: 'as mixed', targetLufs: null, ceilingDbtp: null, source: 'no gain' },
  { name: 'broadcast', targetLufs: -23, ceilingDbtp: -1, source: 'EBU R 128' },
  { name: 'broadcast US', targetLufs: -24, ceilingDbtp: -2, source: 'ATSC A/85' },
  { name: 'streaming', targetLufs: -14, ceilingDbtp: -1, source: 'common practice' },
  { name: 'streaming quiet', targetLufs: -16, ceilingDbtp: -1, source: 'common practice' },
  { name: 'peak', targetLufs: null, ceilingDbtp: -1, source: 'common practice' },
];

/** The values of a target in words: "-23 LUFS, -1 dBTP (EBU R 128)". */
export const targetWords = ({ targetLufs, ceilingDbtp, source }: KnownTarget): string => {
  const parts = [
    ...(targetLufs === null ? [] : [`${targetLufs} LUFS`]),
    ...(ceilingDbtp === null ? [] : [`${targetLufs === null ? 'at most ' : ''}${ceilingDbtp} dBTP`]),
  ];
  return parts.length === 0 ? source : `${parts.join(', ')} (${source})`;
};
