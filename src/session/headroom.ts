import { setTrim } from './edits/edits.ts';
import type { Session } from './schema.ts';

/** Headroom before the mix bus that is chosen unless another is asked for, dB (common practice where many stems are summed). */
export const USUAL_HEADROOM_DB = 12;

/** Trims are set in steps of this, dB, and never so that less headroom is left. */
const STEP_DB = 0.01;
const [LEAST_TRIM_DB, MOST_TRIM_DB] = [-60, 24];

/** Headroom of what comes to the mix bus, dB: from its true peak to 0 dBTP; the sum's own peak is that before the trim. */
export const headroomOf = (sumPeakDbtp: number, trimDb: number): number => -(sumPeakDbtp + trimDb);

/** The trim that leaves this headroom to a sum of this true peak before the trim, dBTP; within the range of a trim. */
export const trimFor = (sumPeakDbtp: number, headroomDb: number): number => {
  const trim = Math.floor(-(headroomDb + sumPeakDbtp) / STEP_DB + 1e-6) * STEP_DB;
  return Math.min(MOST_TRIM_DB, Math.max(LEAST_TRIM_DB, Number(trim.toFixed(2))));
};

/** The session with the trim that leaves so much headroom before its mix bus; what stands on the mix bus is not touched. */
export const stageHeadroom = (session: Session, sumPeakDbtp: number, headroomDb = USUAL_HEADROOM_DB): Session =>
  setTrim(session, trimFor(sumPeakDbtp, headroomDb));
