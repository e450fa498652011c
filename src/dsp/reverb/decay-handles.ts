import type { PictureHandle } from '../core/picture-handle.ts';

interface Decays {
  /** s */
  readonly decay: number;
  /** ms */
  readonly preDelay: number;
  /** Decay of the lows, % of the decay. */
  readonly lowDecay: number;
  /** Reduction of the decay of the highs, %. */
  readonly damping: number;
}

/** Positions of the handles of lows, mids and highs, as parts of the whole fall, so that they never overlap. */
const FALLEN = { high: 0.5, low: 0.75, middle: 1 } as const;

/** Decay by band, each at its own line, and the pre-delay at their top; seconds across, dB up. */
export const decayHandles = (
  { decay, preDelay, lowDecay, damping }: Decays,
  topDb: number,
  floorDb: number,
): PictureHandle[] => {
  const from = preDelay / 1000;
  const fall = Math.max(1, topDb - floorDb);
  const held = (seconds: number, part: number) => ({ x: from + (seconds * part * fall) / 60, y: topDb - part * fall });
  const secondsAt = (place: number, part: number): number => ((place - from) * 60) / (part * fall);
  const guide = (seconds: number) => ({
    guide: [
      [from, topDb],
      [from + (seconds * fall) / 60, floorDb],
    ] as const,
  });
  const [low, high] = [(decay * lowDecay) / 100, decay * (1 - damping / 100)];
  return [
    {
      id: 'damping',
      label: 'Damping of the highs',
      ...held(high, FALLEN.high),
      ...guide(high),
      across: { parameter: 'damping', at: (place) => 100 * (1 - secondsAt(place, FALLEN.high) / decay) },
      wheel: 'dampingFrequency',
    },
    {
      id: 'lowDecay',
      label: 'Low decay',
      ...held(low, FALLEN.low),
      ...guide(low),
      across: { parameter: 'lowDecay', at: (place) => (100 * secondsAt(place, FALLEN.low)) / decay },
      wheel: 'lowFrequency',
    },
    {
      id: 'decay',
      label: 'Decay',
      ...held(decay, FALLEN.middle),
      across: { parameter: 'decay', at: (place) => secondsAt(place, FALLEN.middle) },
    },
    {
      id: 'preDelay',
      label: 'Pre-delay',
      x: from,
      y: topDb,
      across: { parameter: 'preDelay', at: (place) => 1000 * place },
    },
  ];
};
