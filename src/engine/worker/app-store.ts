import { StretchStore, type Disk } from '../../render/store/stretch-store.ts';

/** Sound that the app holds in memory, bytes; what is beyond it goes to the browser's storage. */
const BUDGET = 384_000_000;

/** What is told where the browser keeps no sound on disk, or no more of it. */
export const NO_STORAGE = 'This browser keeps no sound on disk: all sound stays in memory; long songs may not fit.';
export const STORAGE_FULL =
  "The browser's storage is full: what is rendered from now on stays in memory; long songs may not fit. Free space on the disk, then open the song again.";

/** Where the app keeps sound. `disk` is null where there is none; `tell` hears a sentence, once, when one is missed. */
export const appStore = (disk: Disk | null, tell: (sentence: string) => void, budget = BUDGET): StretchStore =>
  new StretchStore({
    budget,
    openDisk: () => {
      if (!disk) throw new Error(NO_STORAGE);
      return disk;
    },
    onRefused: () => tell(disk ? STORAGE_FULL : NO_STORAGE),
  });
