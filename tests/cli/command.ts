import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll } from 'vitest';
import { main } from '../../src/cli/main.ts';
import type { Audio } from '../../src/audio/audio.ts';
import { readWav } from '../../src/files/wav/wav-read.ts';
import { writeWav } from '../../src/files/wav/wav-write.ts';

/** What a command line did. */
export interface Outcome {
  readonly code: number;
  readonly out: string;
  readonly err: string;
}

/** Runs one command line in this process, with streams of its own. */
export const run = async (...args: readonly string[]): Promise<Outcome> => {
  let out = '';
  let err = '';
  const streams = { out: (text: string) => (out += text), err: (text: string) => (err += text), watched: false };
  const code = await main(args, streams);
  return { code, out, err };
};

/** Runs a command with --json; standard output must be that one document, and standard error empty. */
export const runJson = async (...args: readonly string[]): Promise<unknown> => {
  const { code, out, err } = await run(...args, '--json');
  if (code !== 0 || err !== '') throw new Error(`exit ${code}: ${err}`);
  return JSON.parse(out) as unknown;
};

/** A folder for one test file, gone when it is done. */
export class Workplace {
  readonly folder = mkdtempSync(join(tmpdir(), 'tributary-'));

  constructor() {
    afterAll(() => rmSync(this.folder, { recursive: true }));
  }

  path(name: string): string {
    return join(this.folder, name);
  }

  write(name: string, content: string | Uint8Array): string {
    writeFileSync(this.path(name), content);
    return this.path(name);
  }

  /** Writes sound as a 32 bit float WAV, so that every sample is kept. */
  writeAudio(name: string, audio: Audio): string {
    return this.write(name, writeWav(audio, '32f').bytes);
  }

  readAudio(name: string): Audio {
    return readWav(readFileSync(this.path(name)), name);
  }

  readText(name: string): string {
    return readFileSync(this.path(name), 'utf8');
  }

  size(name: string): number {
    return statSync(this.path(name)).size;
  }

  has(name: string): boolean {
    return existsSync(this.path(name));
  }

  list(name = '.'): string[] {
    return readdirSync(this.path(name)).sort();
  }
}
