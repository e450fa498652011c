const isPrime = (n: number): boolean => {
  if (n < 2) return false;
  for (let d = 2; d * d <= n; d++) if (n % d === 0) return false;
  return true;
};

/** Smallest prime not below `n`. */
export const primeFrom = (n: number): number => {
  let prime = Math.max(2, Math.ceil(n));
  while (!isPrime(prime)) prime++;
  return prime;
};
