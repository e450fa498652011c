import type { AudioFiles } from '../../engine/engine.ts';
import { allFilesOf } from '../../engine/files-of-session.ts';
import type { Session } from '../../session/schema.ts';
import { haveSameContent } from './same-content.ts';
import { freePath, matchFiles, type GivenFile } from './dropped.ts';

/** A file that is to be read, under the path that it will have in the session. */
export interface Wanted {
  readonly path: string;
  readonly file: File;
  /** True when the session has been waiting for it. */
  readonly isMissing: boolean;
}

/** One file, as the engine takes files. */
export const alone = (path: string, blob: Blob): AudioFiles => new Map([[path, blob]]);

/** Of these files, those that a session names. */
export const namedOf = (session: Session, files: AudioFiles): AudioFiles => {
  const names = new Set(allFilesOf(session));
  return new Map([...files].filter(([path]) => names.has(path)));
};

export const NO_FILES: AudioFiles = new Map();

/** The audio files that were read so far, by the paths that a session calls them. */
export class FilesInHand {
  private blobs = new Map<string, Blob>();

  get all(): AudioFiles {
    return this.blobs;
  }

  /** A new session's files in place of the last one's. */
  replace(files: AudioFiles): void {
    this.blobs = new Map(files);
  }

  add(path: string, blob: Blob): void {
    this.blobs.set(path, blob);
  }

  drop(path: string): void {
    this.blobs.delete(path);
  }

  /** The path among `paths` whose file holds the same bytes; null: none does. */
  async twinOf(file: Blob, paths: readonly string[]): Promise<string | null> {
    for (const path of paths) {
      const held = this.blobs.get(path);
      if (held && (await haveSameContent(held, file))) return path;
    }
    return null;
  }

  /** What to read of the given files: first those that the session misses, the others under paths of their own. */
  wanted(
    given: readonly GivenFile[],
    missing: readonly string[],
    named: readonly string[],
    /** Whether they stay where they are, so that their paths in the folder are theirs in the session. */
    inPlace = false,
  ): Wanted[] {
    const found = matchFiles(missing, given);
    const used = new Set(found.values());
    const taken = new Set([...this.blobs.keys(), ...named]);
    const others = given
      .filter(({ file }) => !used.has(file))
      .map(({ file, path: own }) => {
        const path = inPlace && !taken.has(own) ? own : freePath(file.name, taken);
        taken.add(path);
        return { path, file, isMissing: false };
      });
    return [...[...found].map(([path, file]) => ({ path, file, isMissing: true })), ...others];
  }
}
