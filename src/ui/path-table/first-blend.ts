/** Where the blend of a new bus starts, dB: in the middle of where it usually lands, low when that is not known. */
export const firstBlendDb = (usual: readonly [number, number] | null | undefined): number =>
  usual ? Math.round(usual[0] + usual[1]) / 2 : -18;
