/** True where all samples from frame `from` to before `to` are 0. Of sound that does not begin in silence the first few are looked at. */
export const isSilent = (samples: Float32Array, from = 0, to = samples.length): boolean => {
  for (let n = from; n < to; n++) if (samples[n] !== 0) return false;
  return true;
};
