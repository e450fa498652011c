import type { EngineView } from '../engine.ts';

/** The part of the view on sides that can be compared. */
export type ListeningView = Pick<EngineView, 'audible' | 'matchedLufs' | 'comparison'>;

export const NOTHING_AUDIBLE: ListeningView = {
  audible: [],
  matchedLufs: null,
  comparison: { levels: new Map(), unsettled: new Set(), preparing: new Map(), faults: new Map() },
};
