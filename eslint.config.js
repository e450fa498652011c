import js from '@eslint/js';
import { defineConfig, globalIgnores } from 'eslint/config';
import svelte from 'eslint-plugin-svelte';
import globals from 'globals';
import ts from 'typescript-eslint';
import svelteConfig from './svelte.config.js';

/** What belongs to a page or to Node; the layers that only compute must run in both, in a worker and in a worklet. */
const notForLayersThatCompute = [
  ...['window', 'document', 'navigator', 'location', 'localStorage', 'indexedDB', 'fetch', 'self'],
  ...['AudioContext', 'OfflineAudioContext', 'AudioBuffer', 'AudioWorkletNode', 'requestAnimationFrame'],
  ...['process', 'Buffer', 'global', '__dirname', 'require'],
];

// Rules that need types stand in .oxlintrc.json.
export default defineConfig(
  globalIgnores(['dist', 'dist-cli', '.svelte-check']),
  js.configs.recommended,
  ts.configs.recommended,
  svelte.configs.recommended,
  {
    languageOptions: {
      globals: { ...globals.browser, ...globals.node },
    },
    rules: {
      '@typescript-eslint/consistent-type-imports': 'error',
      '@typescript-eslint/no-unused-vars': ['error', { argsIgnorePattern: '^_' }],
      eqeqeq: 'error',
      'max-lines-per-function': ['error', { max: 60, skipBlankLines: true, skipComments: true }],
      'no-console': 'off',
      // TypeScript knows every name, types included; this rule does not.
      'no-undef': 'off',
    },
  },
  {
    files: ['**/*.svelte', '**/*.svelte.ts'],
    languageOptions: { parserOptions: { parser: ts.parser, svelteConfig } },
  },
  {
    files: ['src/**/*.ts'],
    ignores: ['**/*.d.ts'],
    rules: {
      'no-restricted-syntax': [
        'error',
        {
          selector: 'ExportDefaultDeclaration',
          message: 'Export by name, so that a thing is called the same everywhere.',
        },
      ],
    },
  },
  {
    files: ['src/{dsp,measure,session,blend,render}/**/*.ts'],
    ignores: ['src/render/web-audio*', 'src/render/*worklet*', 'src/render/*.worker.ts'],
    rules: { 'no-restricted-globals': ['error', ...notForLayersThatCompute] },
  },
  {
    // A test may be one long table or one long story.
    files: ['tests/**'],
    rules: { 'max-lines-per-function': 'off' },
  },
);
