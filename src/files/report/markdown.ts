/** Text with the characters escaped that Markdown would read as markup. */
export const plain = (text: string): string => text.replace(/[\\`*_{}[\]<>#|]/g, '\\$&').replace(/\s+/g, ' ');

/** A table; the columns in `right` are right-aligned. */
export const table = (rows: readonly (readonly string[])[], right: readonly number[] = []): string => {
  const [heading = [], ...body] = rows;
  const rule = heading.map((_, n) => (right.includes(n) ? '---:' : '---'));
  return [heading, rule, ...body].map((cells) => `| ${cells.join(' | ')} |\n`).join('');
};
