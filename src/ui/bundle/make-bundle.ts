import type { AudioFiles, Engine } from '../../engine/engine.ts';
import { allFilesOf } from '../../engine/files-of-session.ts';
import { blobPieces } from '../../files/bytes/blob-pieces.ts';
import { bundledTexts, TEXTS_ONLY } from '../../files/bundle/bundle-report.ts';
import { bundleFiles } from '../../files/bundle/bundle-write.ts';
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
  const sounds = allFilesOf(session).flatMap((file): [string, Blob][] => {
    const blob = files.get(file);
    return blob ? [[file, blob]] : [];
  });
  const texts = printed ? bundledTexts(printed) : [];
  const order = { session, texts, sounds: new Map(sounds), date: new Date() };
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
