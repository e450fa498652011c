/** Bytes as a reader takes them in: 31 kB, 4.2 MB, 1.3 GB (powers of ten, as disks are sold and shown). */
export const sizeWords = (bytes: number): string => {
  const [unit, scale] = bytes < 1e6 ? ['kB', 1e3] : bytes < 1e9 ? ['MB', 1e6] : (['GB', 1e9] as const);
  const size = bytes / scale;
  return `${size < 10 && unit !== 'kB' ? size.toFixed(1) : Math.max(1, Math.round(size)).toString()} ${unit}`;
};

/** When something was changed, as a list says it: the time today, the day before. */
export const dateWords = (changed: number, now = Date.now()): string => {
  const date = new Date(changed);
  const isToday = date.toDateString() === new Date(now).toDateString();
  const time = date.toLocaleTimeString('en-GB', { hour: '2-digit', minute: '2-digit' });
  return isToday
    ? `today, ${time}`
    : date.toLocaleDateString('en-GB', { day: 'numeric', month: 'long', year: 'numeric' });
};
