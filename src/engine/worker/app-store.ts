import { StretchStore, type Disk } from '../../render/store/stretch-store.ts';

/** Memory for sound in the app, bytes; sound beyond it goes to the browser's storage. */
const BUDGET = 384_000_000;

/** Warnings where the browser stores no sound on disk, or no more of it. */
export const NO_STORAGE = 'This browser stores no sound on disk: all sound stays in memory; long songs may not fit.';
export const STORAGE_FULL =
  "The browser's storage is full: newly rendered sound stays in memory; long songs may not fit. Free space on the disk, then open the song again.";

/** The store of the app. `disk` is null where there is none; `tell` is called once with a warning when disk space is missing. */
export const appStore = (disk: Disk | null, tell: (sentence: string) => void, budget = BUDGET): StretchStore =>
  new StretchStore({
    budget,
    openDisk: () => {
      if (!disk) throw new Error(NO_STORAGE);
      return disk;
    },
    onRefused: () => tell(disk ? STORAGE_FULL : NO_STORAGE),
  });
