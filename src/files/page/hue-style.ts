/** Colours of paths in a page, light and dark: those of the app (`src/ui/theme/tokens.css`), which a test holds them to. */
const HUES: readonly (readonly [light: string, dark: string])[] = [
  ['#aa474c', '#ee8f90'],
  ['#497bad', '#8ec3f9'],
  ['#927306', '#daba61'],
  ['#5f4671', '#a086b5'],
  ['#1f9197', '#78dee3'],
  ['#616215', '#a2a45c'],
  ['#ae677e', '#ffb1c8'],
  ['#2a5191', '#6892d8'],
  ['#6d8c4d', '#b6d795'],
  ['#882c50', '#cb738f'],
  ['#6c5cb1', '#ada1f2'],
  ['#73452b', '#b88569'],
  ['#73617e', '#bca8c9'],
  ['#116f42', '#66b987'],
  ['#5d7e68', '#a5c8b0'],
  ['#7f4a66', '#cb90ad'],
  ['#846797', '#cfafe4'],
  ['#4c7263', '#93bcab'],
];

/** Names as in the app: --hue-1 and so on. */
export const HUE_STYLE = `:root { ${HUES.map(([light, dark], n) => `--hue-${n + 1}: light-dark(${light}, ${dark});`).join(' ')} }`;
