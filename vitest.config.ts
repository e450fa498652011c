import { defineConfig } from 'vitest/config';

// The three groups run one after another: unit and reference in Node, then the real browser.
export default defineConfig({
  test: {
    projects: [
      {
        test: {
          name: 'unit',
          environment: 'node',
          include: ['tests/**/*.test.ts'],
          exclude: ['tests/reference/**', 'tests/browser/**'],
          testTimeout: 60_000,
          sequence: { groupOrder: 0 },
        },
      },
      {
        test: {
          name: 'reference',
          environment: 'node',
          include: ['tests/reference/**/*.test.ts'],
          testTimeout: 120_000,
          sequence: { groupOrder: 1 },
        },
      },
    ],
  },
});
