/** Laws for mixing wet and dry sound. */
export const MIX_LAWS = ['linear', 'equal power'] as const;
export type MixLaw = (typeof MIX_LAWS)[number];

/** Mix of processed (wet) and dry sound, aligned. */
export interface WetDry {
  /** Share of the processed sound, 0..1. */
  readonly wet: number;
  /** linear: correlated sounds keep their level. equal power: uncorrelated sounds do. */
  readonly law: MixLaw;
}

/** Linear gains of both shares; exactly 1 and 0 at the ends. */
export const wetDryGains = ({ wet, law }: WetDry): { readonly wet: number; readonly dry: number } => {
  if (wet >= 1) return { wet: 1, dry: 0 };
  if (wet <= 0) return { wet: 0, dry: 1 };
  if (law === 'linear') return { wet, dry: 1 - wet };
  return { wet: Math.sin((wet * Math.PI) / 2), dry: Math.cos((wet * Math.PI) / 2) };
};
