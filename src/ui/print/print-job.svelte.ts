import { messageOf } from '../../engine/message.ts';
import { timeLeft } from '../../engine/time-left.ts';
import { printNames } from '../../files/print/print-names.ts';
import type { PrintOrder } from '../../files/print/print-order.ts';
import type { PrintedSong } from '../../files/print/print-song.ts';
import type { PrintText } from '../../files/print/print-texts.ts';
import type { ReportGuard } from '../../files/report/report.ts';
import type { Measurement } from '../../measure/figures.ts';
import type { Bench } from '../bench/bench.svelte.ts';
import { download } from '../shared/download.ts';
import { zipped } from '../shared/zip.ts';
import { PrintChoice } from './print-choice.svelte.ts';

/** The forms of a WAV file, as they are called. */
export const FORMS: Readonly<Record<PrintOrder['bits'], string>> = {
  '16': '16 bit',
  '24': '24 bit',
  '32f': '32 bit float',
};

/** One file that came out of a print. */
export interface PrintedFile {
  /** File name with its ending. */
  readonly name: string;
  readonly data: Blob;
  /** "24 bit", or "text". */
  readonly form: string;
  /** null: not sound. */
  readonly figures: Measurement | null;
}

/** What came out of a print, and the order it was made to. */
interface Printed {
  readonly order: PrintOrder;
  readonly files: readonly PrintedFile[];
  readonly notes: readonly string[];
  /** Guards that the print breaks, a sentence each. */
  readonly broken: readonly string[];
}

/** What broken guards say. */
const brokenOf = (guards: readonly ReportGuard[]): readonly string[] =>
  guards.filter(({ pass }) => !pass).map(({ sentence }) => sentence);

/** What texts are, by the ending of their names. */
const TEXT_TYPES: Readonly<Record<string, string>> = {
  html: 'text/html',
  json: 'application/json',
  md: 'text/markdown',
};

const textFile = ({ name, content }: PrintText): PrintedFile => ({
  ...{ name, form: 'text', figures: null },
  data: new Blob([content], { type: TEXT_TYPES[name.split('.').at(-1)!] ?? 'text/plain' }),
});

/** "24 bit", "FLAC 24 bit", "MP3 192 kbit/s". */
const formWords = (bits: string): string =>
  bits.startsWith('MP3') ? `${bits} kbit/s` : bits.replace('32f', '32 bit float').replace(/(16|24)$/, '$1 bit');

const filesOf = ({ prints, texts }: PrintedSong<Blob>): PrintedFile[] => [
  ...prints.map(({ name, content, bits, figures }) => ({ name, data: content, figures, form: formWords(bits) })),
  ...texts.map(textFile),
];

/** One print: what is asked for, how far it is, and what came out. */
export class PrintJob {
  readonly #bench: Bench;
  readonly choice: PrintChoice;
  #progress = $state.raw<number | null>(null);
  #printed = $state.raw<Printed | null>(null);
  #fault = $state.raw<string | null>(null);
  /** When it began, ms. */
  #began = 0;
  #timeLeft = $state.raw<string | null>(null);
  #cancel: AbortController | null = null;

  constructor(bench: Bench) {
    this.#bench = bench;
    this.choice = new PrintChoice(() => bench.session!);
  }

  /** 0..1 while it prints; null when it does not. */
  get progress(): number | null {
    return this.#progress;
  }
  /** "about 40 s left"; null: nobody can say yet. */
  get timeLeft(): string | null {
    return this.#timeLeft;
  }
  get files(): readonly PrintedFile[] {
    return this.#printed?.files ?? [];
  }
  get notes(): readonly string[] {
    return this.#printed?.notes ?? [];
  }
  /** Guards that the mix breaks as it stands, a sentence each; null: not known yet. */
  get brokenBefore(): readonly string[] | null {
    const { guards } = this.#bench.view.findings;
    return guards && brokenOf(guards);
  }
  /** Guards that the last print breaks. */
  get brokenAfter(): readonly string[] {
    return this.#printed?.broken ?? [];
  }
  /** What the files that came out are, where other choices have been made since; null where they are as chosen. */
  get otherOrder(): string | null {
    const printed = this.#printed?.order;
    if (!printed || JSON.stringify(printed) === JSON.stringify(this.choice.order)) return null;
    const { bits } = this.choice;
    if (printed.bits === bits) return 'Below is the last print, of other choices. Print again for these.';
    return `Below is the last print, in ${FORMS[printed.bits]}. Print again for ${FORMS[bits]}.`;
  }
  get fault(): string | null {
    return this.#fault;
  }
  get canStart(): boolean {
    return this.#progress === null && !this.choice.isEmpty && this.choice.fault === null;
  }

  async start(): Promise<void> {
    const cancel = new AbortController();
    this.#cancel = cancel;
    this.#progress = 0;
    this.#printed = null;
    this.#fault = null;
    const { order } = this.choice;
    this.#began = performance.now();
    this.#timeLeft = null;
    try {
      const onProgress = (progress: number): void => {
        this.#progress = progress;
        this.#timeLeft = timeLeft(progress, (performance.now() - this.#began) / 1000);
      };
      const song = await this.#bench.engine.print({ ...order, onProgress, signal: cancel.signal });
      this.#printed = {
        order,
        files: filesOf(song),
        notes: song.notes,
        broken: brokenOf(song.guards.after),
      };
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
      download(await zipped(this.files), `${printNames(this.#bench.session!).main}.zip`);
    } catch (error) {
      this.#fault = messageOf(error);
    }
  }
}
