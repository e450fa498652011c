import { vi } from 'vitest';

/** Tells of every worker that is started from now on, until globals are unstubbed. */
export const watchWorkers = (onStart: (worker: Worker) => void): void => {
  const Native = Worker;
  vi.stubGlobal(
    'Worker',
    class extends Native {
      constructor(...args: ConstructorParameters<typeof Native>) {
        super(...args);
        onStart(this);
      }
    },
  );
};
