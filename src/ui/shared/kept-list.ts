/**
 * Gives a list that is made anew again as the same list where its parts are the same: what is drawn of it is then not drawn anew. By
 * default parts are the same where they are the same object.
 */
export const keptList = <T>(isSame: (a: T, b: T) => boolean = Object.is): ((list: readonly T[]) => readonly T[]) => {
  let kept: readonly T[] = [];
  return (list) => {
    const isKept = list.length === kept.length && list.every((part, n) => isSame(part, kept[n]!));
    if (!isKept) kept = list;
    return kept;
  };
};
