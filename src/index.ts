/** What a script may import: sounds and their figures, and sessions as the command line works on them. */
export { openSession } from './cli/opened-session.ts';
export type {
  OpenedSession,
  OpenOptions,
  PrintOptions,
  RideOptions,
  SolveOptions,
  Within,
} from './cli/opened-session.ts';
export type { Audio } from './audio/audio.ts';
export { readAudioFile } from './files/node/node-files.ts';
export { writeWav } from './files/wav/wav-write.ts';
export { measuredSound as measure } from './cli/measured-sound.ts';
export type { Figures, Measurement } from './measure/figures.ts';
export { setProcessorOn, setSetting } from './session/chain/chain-edits.ts';
export {
  sectionOfBars,
  setBlend,
  setFader,
  setOn,
  setSections,
  setSend,
  setTempoMap,
  setTrim,
} from './session/edits/edits.ts';
export { setBlends } from './session/edits/blend-edits.ts';
export { addPoint, removeLine, setLine, switchInSections, throwSend } from './session/lines/line-edits.ts';
export { ProblemError } from './session/problem.ts';
export { sessionText } from './session/read/serialize.ts';
export type { Session } from './session/schema.ts';
