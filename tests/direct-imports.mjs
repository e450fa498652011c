/**
 * Vitest turns every use of an imported name into a call of a getter, in hot loops of kernels too. With this each name is read once, as
 * the module is loaded: what Node makes of imports by itself. It holds as no module of ours imports itself by way of others (the check of
 * layers sees to that) and none exports what it assigns anew.
 * @returns {import('vite').Plugin}
 */
export const directImports = () => ({
  name: 'direct-imports',
  enforce: 'post',
  applyToEnvironment: ({ config }) => config.consumer === 'server',
  transform(code, id) {
    if (id.includes('/node_modules/') || !/\.(ts|mjs|svelte)$/.test(id)) return null;
    let [made, at] = ['', 0];
    for (const [n, part] of this.parse(code).body.entries()) {
      if (part.type !== 'ImportDeclaration' || !/^\.{0,2}\//.test(part.source.value)) continue;
      const named = part.specifiers.filter((each) => each.type === 'ImportSpecifier');
      if (named.length === 0 || named.length < part.specifiers.length) continue;
      const names = named.map(({ imported, local }) => {
        const name = imported.type === 'Identifier' ? imported.name : imported.value;
        return `${local.name} = __from${n}[${JSON.stringify(name)}]`;
      });
      // As many lines as before, so that errors are told where they are.
      const lines = '\n'.repeat(code.slice(part.start, part.end).split('\n').length - 1);
      made += `${code.slice(at, part.start)}import * as __from${n} from ${JSON.stringify(part.source.value)}; const ${names.join(', ')};${lines}`;
      at = part.end;
    }
    return at === 0 ? null : { code: made + code.slice(at), map: null };
  },
});
