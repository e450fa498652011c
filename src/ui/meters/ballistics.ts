/** Range that a level meter shows, dBFS. */
export const LOWEST_DB = -60;
const HIGHEST_DB = 6;

/** A peak stays this long before it falls, seconds (common practice). */
const HOLD_SECONDS = 1.5;
/** A bar and a peak that is held no more fall by this, dB a second (common practice: about 20 dB in 1.5 s). */
const FALL_DB = 13.3;

/** How far across a meter a level stands, 0..1. */
export const meterPart = (db: number): number => Math.max(0, Math.min(1, (db - LOWEST_DB) / (HIGHEST_DB - LOWEST_DB)));

/** What a meter shows of one signal: it rises at once, and falls slowly. */
export class LevelBallistics {
  /** RMS as the bar shows it, dBFS. */
  barDb = -Infinity;
  /** The peak that is held, dBFS. */
  peakDb = -Infinity;
  /** True from the first sample over full scale until it is reset. */
  isOver = false;
  private heldSince = 0;
  private at = 0;

  /** A reading at a time, seconds. */
  read(rmsDb: number, peakDb: number, at: number): void {
    const fallen = FALL_DB * Math.max(0, at - this.at);
    this.barDb = Math.max(rmsDb, this.barDb - fallen);
    if (peakDb >= this.peakDb) this.heldSince = at;
    const isHeld = at - this.heldSince < HOLD_SECONDS;
    this.peakDb = Math.max(peakDb, isHeld ? this.peakDb : this.peakDb - fallen);
    if (peakDb > 0) this.isOver = true;
    this.at = at;
  }

  /** Nothing plays. */
  rest(): void {
    this.barDb = this.peakDb = -Infinity;
  }

  reset(): void {
    this.rest();
    this.isOver = false;
  }
}
