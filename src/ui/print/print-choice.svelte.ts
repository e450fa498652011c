import { requireFit, type OrderFields } from '../../files/print/check-order.ts';
import { DELIVERY_TARGETS, type DeliveryTarget } from '../../files/print/delivery-targets.ts';
import type { FileForm } from '../../files/print/file-form.ts';
import type { Mp3Kbps } from '../../files/mp3/mp3-write.ts';
import { USUAL_CEILING_DBTP } from '../../files/print/print-level.ts';
import { PRINT_KINDS, type PrintKind, type PrintOrder, type PrintSpan } from '../../files/print/print-order.ts';
import { printFileNames } from '../../files/print/print-parts.ts';
import { SHAPED_RATES } from '../../files/print/quantise.ts';
import { messageOf } from '../../engine/message.ts';
import type { Session } from '../../session/schema.ts';
import { hasVocals, leadsOf } from '../../session/passes/variants.ts';

/** Where a loudness target begins when one is asked for, LUFS: common practice for streaming. */
const FIRST_TARGET_LUFS = -16;

/** What the dialog calls the fields of an order. */
const FIELDS: OrderFields = {
  ...{ without: 'Without a group', pairs: 'With and without chain', kinds: 'Files', form: 'The format' },
  ...{ shaped: 'Shaped dither', names: 'The template', targets: 'Deliveries', pass: 'The pass' },
};

/** The list with `each` in it or not, in the order of `all`. */
const withChoice = <T>(all: readonly T[], chosen: readonly T[], each: T, on: boolean): readonly T[] =>
  all.filter((other) => (other === each ? on : chosen.includes(other)));

/** What is chosen to be printed. */
export class PrintChoice {
  bits = $state<PrintOrder['bits']>('24');
  /** null: that of the session. */
  rate = $state<number | null>(null);
  /** Asked for; it holds where the format has it. */
  shaped = $state(false);
  /** Integrated loudness, LUFS. */
  readonly target = $state({ on: false, value: FIRST_TARGET_LUFS });
  /** True peak, dBTP. */
  readonly ceiling = $state({ on: false, value: USUAL_CEILING_DBTP });
  /** Stems take the gain of the mix. */
  stemsTakeGain = $state(false);
  stemsThroughMixBus = $state(false);
  /** The report lets the rough and the mix be heard. */
  reportSound = $state(false);
  /** Bit rate of MP3 copies, kbit/s; null: none. */
  mp3Kbps = $state<Mp3Kbps | null>(null);
  /** Id of a pass; null: the mix as it stands. */
  pass = $state<string | null>(null);
  /** null: the whole song. */
  span = $state.raw<PrintSpan | null>(null);
  headSeconds = $state(0);
  tailSeconds = $state(0);
  /** Template; empty: the usual names. */
  names = $state('');
  #form = $state<FileForm>('wav');
  #kinds = $state.raw<readonly PrintKind[]>(['main']);
  #without = $state.raw<readonly string[]>([]);
  #pairs = $state.raw<readonly string[]>([]);
  #targets = $state.raw<readonly DeliveryTarget[]>([]);
  readonly #session: () => Session;

  constructor(session: () => Session) {
    this.#session = session;
  }

  get form(): FileForm {
    return this.#form;
  }
  /** FLAC has no floats. */
  set form(form: FileForm) {
    this.#form = form;
    if (form === 'flac' && this.bits === '32f') this.bits = '24';
  }
  /** Whether a group is marked as vocal: without one there is no instrumental and no a cappella. */
  get hasVocals(): boolean {
    return hasVocals(this.#session());
  }
  get hasLead(): boolean {
    return leadsOf(this.#session()).length > 0;
  }
  /** Whether the noise of the dither can be shaped in the format that is chosen. */
  get canShape(): boolean {
    return this.bits === '16' && SHAPED_RATES.includes(this.rate ?? this.#session().sampleRate);
  }
  get hasStems(): boolean {
    return (['stems', 'group-stems', 'returns'] as const).some((kind) => this.has(kind));
  }

  has(kind: PrintKind): boolean {
    return this.#kinds.includes(kind);
  }
  choose(kind: PrintKind, on: boolean): void {
    this.#kinds = withChoice(PRINT_KINDS, this.#kinds, kind, on);
  }

  get without(): readonly string[] {
    return this.#without;
  }
  leaveOut(group: string, on: boolean): void {
    const all = this.#session().groups.map(({ id }) => id);
    this.#without = withChoice(all, this.#without, group, on);
  }

  get pairs(): readonly string[] {
    return this.#pairs;
  }
  pair(path: string, on: boolean): void {
    const { groups, buses } = this.#session();
    const all = [...groups, ...buses].map(({ id }) => id);
    this.#pairs = withChoice(all, this.#pairs, path, on);
  }

  get targets(): readonly DeliveryTarget[] {
    return this.#targets;
  }
  deliver(name: string, on: boolean): void {
    const all = DELIVERY_TARGETS.map(({ name: each, targetLufs, ceilingDbtp }) => ({
      ...{ name: each, targetLufs, ceilingDbtp },
    }));
    this.#targets = all.filter((each) => (each.name === name ? on : this.#targets.some((t) => t.name === each.name)));
  }

  /** What is asked for; what is as usual is left out. */
  get order(): PrintOrder {
    const { target, ceiling, targets, names } = this;
    const isOne = targets.length === 0;
    return {
      bits: this.bits,
      rate: this.rate,
      kinds: this.#kinds,
      stemsTakeGain: this.stemsTakeGain,
      ...(this.mp3Kbps === null ? {} : { mp3Kbps: this.mp3Kbps }),
      ...(this.form === 'wav' ? {} : { form: this.form }),
      ...(this.shaped && this.canShape ? { shaped: true } : {}),
      ...(this.#without.length === 0 ? {} : { without: this.#without }),
      ...(this.#pairs.length === 0 ? {} : { pairs: this.#pairs }),
      ...(this.reportSound ? { reportSound: true } : {}),
      ...(this.stemsThroughMixBus && this.hasStems ? { stemsThroughMixBus: true } : {}),
      ...(isOne ? {} : { targets }),
      ...(this.pass === null ? {} : { pass: this.pass }),
      ...(this.span === null ? {} : { span: this.span }),
      ...(this.headSeconds === 0 ? {} : { headSeconds: this.headSeconds }),
      ...(this.tailSeconds === 0 ? {} : { tailSeconds: this.tailSeconds }),
      ...(names.trim() === '' ? {} : { names: names.trim() }),
      targetLufs: isOne && target.on ? target.value : null,
      ceilingDbtp: isOne && ceiling.on ? ceiling.value : null,
    };
  }

  /** Why what is chosen cannot be printed, one sentence; null: it can, or nothing is chosen. */
  get fault(): string | null {
    try {
      if (!this.isEmpty) requireFit(this.#session(), this.order, FIELDS);
      return null;
    } catch (error) {
      return messageOf(error);
    }
  }
  get isEmpty(): boolean {
    return this.#kinds.length + this.#without.length + this.#pairs.length === 0;
  }
  /** Names of the sound files that would be printed now; loudness is not known yet. */
  get fileNames(): readonly string[] {
    if (this.isEmpty || this.fault !== null) return [];
    const names = printFileNames(this.#session(), this.order);
    return names.filter((name) => /\.(wav|flac|aiff|mp3)$/.test(name));
  }
}
