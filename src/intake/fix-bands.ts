import type { Fix } from './checks/warning.ts';

/** Settings of one band of an EQ. */
type Band = Readonly<Record<string, string | number | boolean>>;

const LOW_CUT = { on: true, shape: 'low cut', slope: '12 dB/oct' } as const;
/** Notches as narrow as hum needs: 2.5 Hz at 50 Hz. */
const NOTCH = { on: true, shape: 'notch', q: 20 } as const;
/** An EQ has so many bands. */
export const MOST_NOTCHES = 8;

/** The settings of an EQ that mends a fault, "band1.shape" and so on; null where an EQ is not what mends it. */
export const eqSettings = (fix: Fix): Readonly<Record<string, string | number | boolean>> | null => {
  const bands: readonly Band[] =
    fix.kind === 'low cut'
      ? [{ ...LOW_CUT, frequency: fix.hz }]
      : fix.kind === 'notches'
        ? fix.hz.slice(0, MOST_NOTCHES).map((frequency) => ({ ...NOTCH, frequency }))
        : [];
  if (bands.length === 0) return null;
  const named = bands.flatMap((band, n) =>
    Object.entries(band).map(([field, value]) => [`band${n + 1}.${field}`, value] as const),
  );
  return Object.fromEntries(named);
};
