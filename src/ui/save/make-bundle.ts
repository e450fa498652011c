import type { AudioFiles, Engine } from '../../engine/engine.ts';
import { allFilesOf } from '../../engine/files-of-session.ts';
import { blobPieces } from '../../files/blob-pieces.ts';
import { BUNDLE_REPORT } from '../../files/bundle/bundle-names.ts';
import { bundleFiles } from '../../files/bundle/bundle-write.ts';
import type { PrintOrder } from '../../files/print-song.ts';
import type { Session } from '../../session/schema.ts';
import { zipBlob } from '../shared/zip.ts';

/** What is bundled, and who hears how far it is. */
interface BundleTask {
  readonly session: Session;
  /** All that is in hand. */
  readonly files: AudioFiles;
  /** With report and recall sheet of the mix as it stands, which is measured for it. */
  readonly hasReport: boolean;
  readonly onProgress: (part: number) => void;
  readonly signal: AbortSignal;
}

/** A print without sound files: its texts are wanted. */
const TEXTS_ONLY: PrintOrder = {
  ...{ bits: '24', rate: null, kinds: [], stemsTakeGain: false, targetLufs: null, ceilingDbtp: null },
};

/** Part of the work that is done once the report is there. */
const REPORTED = 0.7;

/** A bundle of the session: the browser reads sounds from where they are when it is saved. */
export const makeBundle = async (
  engine: Engine,
  { session, files, hasReport, onProgress, signal }: BundleTask,
): Promise<Blob> => {
  const begin = hasReport ? REPORTED : 0;
  const tell = (part: number): void => onProgress(REPORTED * part);
  const printed = hasReport ? await engine.print({ ...TEXTS_ONLY, onProgress: tell, signal }) : null;
  const texts = (printed?.texts ?? []).filter(({ name }) => name !== printed?.manifest.name);
  const sounds = allFilesOf(session).flatMap((file): [string, Blob][] => {
    const blob = files.get(file);
    return blob ? [[file, blob]] : [];
  });
  const order = {
    ...{ session, sounds: new Map(sounds), date: new Date() },
    texts: texts.map(({ name, content }) => ({ name: `${BUNDLE_REPORT}${name}`, content })),
  };
  const parts = await bundleFiles<Blob>(order, {
    bytesOf: blobPieces,
    textContent: (bytes) => new Blob([bytes]),
    pace: (part) => {
      signal.throwIfAborted();
      onProgress(begin + (1 - begin) * part);
    },
  });
  return zipBlob(parts);
};
