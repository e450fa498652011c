/** Stands beside every monitor level. */
export const HEARING_ADVICE = 'Start low, take breaks, follow local exposure limits.';
