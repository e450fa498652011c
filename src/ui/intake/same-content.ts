const SLICE = 1 << 20;
/** Where two files of one length are looked at first: tracks of a song often begin alike, with silence. */
const FIRST_LOOK = 1 << 16;

const alike = async (a: Blob, b: Blob, from: number, to: number): Promise<boolean> => {
  const [one, other] = await Promise.all([a, b].map((blob) => blob.slice(from, to).arrayBuffer()));
  const [x, y] = [new Uint8Array(one!), new Uint8Array(other!)];
  return x.every((byte, n) => byte === y[n]);
};

/** True when two files hold the same bytes; they are read no further than where they differ. */
export const haveSameContent = async (a: Blob, b: Blob): Promise<boolean> => {
  if (a.size !== b.size) return false;
  const middle = Math.floor(a.size / 2);
  if (!(await alike(a, b, middle, middle + FIRST_LOOK))) return false;
  for (let from = 0; from < a.size; from += SLICE) if (!(await alike(a, b, from, from + SLICE))) return false;
  return true;
};
