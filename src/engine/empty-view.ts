import type { EngineView, Findings } from './engine.ts';
import { NOTHING_AUDIBLE } from './listening/listening-view.ts';

/** Nothing is measured. */
export const NOTHING_FOUND: Findings = {
  rough: null,
  received: null,
  mix: null,
  beforeMixBus: null,
  paths: new Map(),
  guards: null,
  section: null,
};

/** The view before a session is opened. */
export const EMPTY_VIEW: EngineView = {
  state: { phase: 'empty', progress: 0, message: '' },
  findings: NOTHING_FOUND,
  isMeasured: false,
  measuredPart: 0,
  seconds: 0,
  missing: [],
  storage: '',
  playing: false,
  waits: false,
  live: { path: null, note: '' },
  ...NOTHING_AUDIBLE,
};
