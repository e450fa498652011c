import { printNames } from '../../files/print-names.ts';
import type { Measurement } from '../../measure/figures.ts';
import type { Bench } from '../bench/bench.svelte.ts';
import type { PrintOptions } from '../engine/engine.ts';
import { download } from '../shared/download.ts';
import { messageOf } from '../shared/message.ts';
import { printTexts } from './print-texts.ts';
import { zipped } from './zip.ts';

/** The forms of a WAV file, as they are called. */
export const FORMS: Readonly<Record<PrintOptions['bits'], string>> = {
  '16': '16 bit',
  '24': '24 bit',
  '32f': '32 bit float',
};

/** One file that came out of a print. */
export interface Print {
  /** File name with its ending. */
  readonly name: string;
  readonly data: Blob;
  /** "24 bit", or "text". */
  readonly form: string;
  /** null: not sound. */
  readonly figures: Measurement | null;
}

/** One print: what is asked for, how far it is, and what came out. */
export class PrintJob {
  readonly #bench: Bench;
  bits = $state<PrintOptions['bits']>('24');
  main = $state(true);
  stems = $state(false);
  #progress = $state.raw<number | null>(null);
  #files = $state.raw<readonly Print[]>([]);
  #printedBits = $state.raw<PrintOptions['bits'] | null>(null);
  #fault = $state.raw<string | null>(null);
  #cancel: AbortController | null = null;

  constructor(bench: Bench) {
    this.#bench = bench;
  }

  /** 0..1 while it prints; null when it does not. */
  get progress(): number | null {
    return this.#progress;
  }
  get files(): readonly Print[] {
    return this.#files;
  }
  /** The form of the files that came out; null when none did. */
  get printedForm(): string | null {
    return this.#printedBits && FORMS[this.#printedBits];
  }
  /** True when another form has been chosen since. */
  get isOfOtherForm(): boolean {
    return this.#printedBits !== null && this.#printedBits !== this.bits;
  }
  get fault(): string | null {
    return this.#fault;
  }
  get canStart(): boolean {
    return this.#progress === null && (this.main || this.stems);
  }

  async start(): Promise<void> {
    const cancel = new AbortController();
    this.#cancel = cancel;
    this.#progress = 0;
    this.#files = [];
    this.#printedBits = null;
    this.#fault = null;
    try {
      const { bits } = this;
      this.#files = await this.#print(bits, cancel.signal);
      this.#printedBits = bits;
    } catch (error) {
      if (!cancel.signal.aborted) this.#fault = messageOf(error);
    } finally {
      this.#progress = null;
    }
  }

  cancel(): void {
    this.#cancel?.abort();
  }

  /** Hands over all files as one zip: browsers stop handing out single files after a few. */
  async downloadAll(): Promise<void> {
    this.#fault = null;
    try {
      download(await zipped(this.#files), `${printNames(this.#bench.session!).main}.zip`);
    } catch (error) {
      this.#fault = messageOf(error);
    }
  }

  async #print(bits: PrintOptions['bits'], signal: AbortSignal): Promise<readonly Print[]> {
    const { engine, view, session } = this.#bench;
    const { rough, received } = view.findings;
    const { main, stems } = this;
    // The mix is printed in any case: the report tells how it measures.
    const printed = await engine.print({
      bits,
      kinds: stems ? ['main', 'stems'] : ['main'],
      onProgress: (progress) => (this.#progress = progress),
      signal,
    });
    const mix = printed.find(({ kind }) => kind === 'main')?.figures;
    const before = rough ?? received;
    if (!session || !mix || !before) return [];
    const files = printed.filter(({ kind }) => (kind === 'main' ? main : stems));
    const name = rough ? 'rough as received' : 'tracks as received';
    const texts = printTexts({ session, bits, files, before: { name, figures: before }, mix });
    return [
      ...files.map((file) => ({ ...file, form: FORMS[bits] })),
      ...texts.map((text) => ({ ...text, form: 'text', figures: null })),
    ];
  }
}
