/** Seconds as a counter shows them: m:ss, or m:ss.t; what has begun is not counted yet. Below zero it stands at 0:00. */
export const clock = (seconds: number, tenths = false): string => {
  const unit = tenths ? 10 : 1;
  const whole = Math.floor(Math.max(0, seconds) * unit + 1e-6);
  const minutes = Math.floor(whole / (60 * unit));
  const rest = (whole % (60 * unit)) / unit;
  return `${minutes}:${tenths ? rest.toFixed(1).padStart(4, '0') : String(rest).padStart(2, '0')}`;
};
