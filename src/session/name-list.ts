/** Names in a sentence, "a, b and c"; of more than `atMost`, the last item is the number of those left out. */
export const nameList = (names: readonly string[], atMost = 5): string => {
  const isLong = names.length > atMost;
  const shown = isLong ? [...names.slice(0, atMost - 1), `${names.length - atMost + 1} more`] : names;
  return shown.length < 2 ? shown.join('') : `${shown.slice(0, -1).join(', ')} and ${shown.at(-1)}`;
};
