// The layer rule: imports run one way. The table says what each layer may import beside its own files.
const ground = ['audio', 'dsp', 'session', 'measure'];
const mayImport = {
  audio: [],
  dsp: ['audio'],
  session: ['audio', 'dsp'],
  measure: ['audio', 'dsp'],
  render: ['audio', 'session', 'dsp'],
  blend: ground,
  files: ground,
  intake: ['files', ...ground],
  audition: ['render', 'blend', ...ground],
  engine: ['audition', 'render', 'blend', 'intake', 'files', ...ground],
  cli: ['engine', 'audition', 'render', 'blend', 'intake', 'files', ...ground],
  ui: ['engine', 'audition', 'render', 'blend', 'intake', 'files', ...ground],
};

/** The scripts that start things (*.mjs) share their first steps, which live in src/cli. */
const starters = '\\.mjs$';

const layerRules = Object.entries(mayImport).map(([layer, allowed]) => ({
  name: `layer-${layer}`,
  comment: `src/${layer} may import ${allowed.length > 0 ? allowed.join(', ') : 'nothing of ours'}.`,
  severity: 'error',
  from: { path: `^src/${layer}/`, pathNot: starters },
  to: { path: '^(src|tests|demo-audio)/', pathNot: `^src/(${[layer, ...allowed].join('|')})/` },
}));

export default {
  forbidden: [
    ...layerRules,
    {
      name: 'nothing-stands-on-the-screen',
      comment: 'src/ui is the top: only its tests import it.',
      severity: 'error',
      from: { path: '^(src|demo-audio)/', pathNot: '^src/ui/' },
      to: { path: '^src/ui/' },
    },
    {
      name: 'no-tests-in-the-product',
      severity: 'error',
      from: { path: '^src/' },
      to: { path: '^(tests|demo-audio)/' },
    },
    { name: 'no-cycles', severity: 'error', from: {}, to: { circular: true } },
    {
      name: 'node-only-where-it-is-node',
      comment: 'All but the command line, the file access for Node and the starting scripts also runs in a page.',
      severity: 'error',
      from: { path: '^src/', pathNot: ['^src/cli/', '^src/files/node/', starters] },
      to: { dependencyTypes: ['core'] },
    },
    {
      name: 'no-tools-in-the-product',
      comment: 'What the product imports is listed under "dependencies".',
      severity: 'error',
      from: { path: '^src/' },
      to: { dependencyTypes: ['npm-dev', 'npm-no-pkg', 'npm-unknown'], dependencyTypesNot: ['type-only'] },
    },
    { name: 'no-missing-files', severity: 'error', from: {}, to: { couldNotResolve: true } },
  ],
  options: {
    doNotFollow: { path: 'node_modules' },
    tsPreCompilationDeps: true,
    tsConfig: { fileName: 'tsconfig.json' },
    enhancedResolveOptions: {
      exportsFields: ['exports'],
      conditionNames: ['svelte', 'import', 'node', 'default', 'types'],
    },
  },
};
