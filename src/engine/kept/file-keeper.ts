import type { FileAnswer } from './file-writer.worker.ts';
import FileWriter from './file-writer.worker.ts?worker';

/** The reason why the browser did not store a file. */
export class RefusedError extends Error {}

/** Stores received files in the background, one at a time. */
export class FileKeeper {
  #worker: Worker | null = null;
  #last: Promise<unknown> = Promise.resolve();

  /** Resolves with the name of its content, once it is on the disk. Rejects with RefusedError. */
  keep(blob: Blob): Promise<string> {
    const next = this.#last.then(() => this.#write(blob));
    this.#last = next.catch(() => undefined);
    return next;
  }

  dispose(): void {
    this.#worker?.terminate();
    this.#worker = null;
  }

  #write(blob: Blob): Promise<string> {
    const worker = (this.#worker ??= new FileWriter());
    return new Promise((resolve, reject) => {
      worker.onmessage = ({ data }: MessageEvent<FileAnswer>) => {
        if ('name' in data) resolve(data.name);
        else reject(new RefusedError(data.refused));
      };
      worker.onerror = () => {
        this.dispose();
        reject(new RefusedError('the writing stopped'));
      };
      worker.postMessage(blob);
    });
  }
}
