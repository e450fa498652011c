import { LOWS_HZ, SMALL_HZ, type MonitorCheck } from '../../audition/monitor-check.ts';
import { hertz } from '../shared/format.ts';

interface CheckWords {
  readonly check: MonitorCheck;
  readonly label: string;
  readonly about: string;
}

/** The checks of the monitor as the screen names them. */
export const CHECKS: readonly CheckWords[] = [
  { check: 'mono', label: 'Mono check', about: 'Half of left plus right on both sides' },
  { check: 'side', label: 'Side alone', about: 'Half of left minus right: what mono loses' },
  { check: 'lows', label: 'Lows alone', about: `What is below ${LOWS_HZ} Hz, 24 dB/oct` },
  {
    check: 'small loudspeaker',
    label: 'Small loudspeaker',
    about: `Mono, ${hertz(SMALL_HZ[0])} to ${hertz(SMALL_HZ[1])}Hz: what is left where there are no lows`,
  },
  {
    check: 'right inverted',
    label: 'Right inverted',
    about: 'Polarity of the right side: finds a side that is wired or recorded inverted',
  },
];
