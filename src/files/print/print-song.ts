import type { Sound } from '../../audio/audio.ts';
import { numberText } from '../../measure/definitions/figure-text.ts';
import type { Measurement } from '../../measure/figures.ts';
import { measure, type FullMeasurement } from '../../measure/measure.ts';
import { placesOf } from '../../session/markers.ts';
import type { Session } from '../../session/schema.ts';
import { FORM_ENDINGS } from './file-form.ts';
import type { FileKeeper } from '../bytes/file-keeper.ts';
import type { FlowShares } from '../page/flow-geometry.ts';
import { copied, written, type FileOrder, type Print, type Written } from './print-file.ts';
import { planLevel, withGain, type LevelAim, type LevelPlan } from './print-level.ts';
import { FreeNames, nameOf } from './print-names.ts';
import {
  anyMix,
  ceilingNotes,
  copyNotes,
  formNotes,
  limitNote,
  roughNotes,
  scopeNotes,
  stemNote,
  tailNote,
  throughNote,
} from './print-notes.ts';
import type { PrintOrder } from './print-order.ts';
import { commonFacts, isAsked, isMix, partsOf, SEED_STEP, type PrintPart, type PrintSource } from './print-parts.ts';
import { differenceDb, placed, placingOf, type Placing } from './print-sounds.ts';
import { textsOf, type PrintTexts } from './print-texts.ts';
import type { ReportSound } from '../page/report-sound.ts';
import type { ReportContent, ReportGuard, ReportPath } from '../report/report.ts';
import type { CuePoint } from '../wav/wav-tags.ts';

/** The sounds to be printed, at the session’s rate, stereo. */
export interface PrintSounds {
  /** The mix after the mix bus. */
  readonly mix: () => Sound;
  /** Any other sound of the print, which may have to be rendered first; `tell` is called with the part done, 0..1. */
  readonly sound: (source: PrintSource, tell: (part: number) => void) => Promise<Sound>;
  /** Ids of the paths that are not silent. */
  readonly stemIds: readonly string[];
  /** Seconds after the song at which a longer tail is faded out; null: no tail is that long. */
  readonly cutTailSeconds: number | null;
  /** What the report compares the mix with. */
  readonly before: () => Promise<ReportContent['before']>;
  /** Guard results of the mix before its level is set (null), or of the main print. */
  readonly guards: (print: Omit<FullMeasurement, 'series'> | null) => readonly ReportGuard[];
  /** The change that each path makes to the mix. */
  readonly ledger: () => readonly ReportPath[];
  /** Sources of the loudness of the mix. */
  readonly flow: () => Promise<FlowShares>;
  /** Results of blind trials, a sentence each. */
  readonly trials: () => readonly string[];
  /** Excerpts in the report; null: there is no loudness to match. */
  readonly heard: () => Promise<ReportSound | null>;
  /** True peak of the sum before the trim, dBTP; null in silence. */
  readonly sumPeakDbtp: () => number | null;
}

/** Functions of the caller: where files go, and callbacks before each part of the work. */
export interface PrintHost<Content> {
  readonly keeper: FileKeeper<Content>;
  /** `done` is 0..1. */
  readonly tell: (done: number) => void;
  /** Resolves when the work may go on; rejects to stop. */
  readonly turn: () => Promise<void>;
  /** The loudness target's name in messages. */
  readonly targetName: string;
  /** Of the print. */
  readonly date: Date;
}

/** The level of the mix for one delivery. */
interface PrintedLevel extends LevelPlan {
  /** Name of the delivery target; null: it has none. */
  readonly target: string | null;
}

export interface PrintedSong<Content> extends PrintTexts {
  readonly prints: readonly Print<Content>[];
  readonly sampleRate: number;
  /** Applied to the mix and its variants, dB; that of the first target where there are several. */
  readonly gainDb: number;
  /** All loudness targets are met, or none was asked for. */
  readonly targetMet: boolean;
  readonly levels: readonly PrintedLevel[];
  /** Notes on the level and the files, one sentence each. */
  readonly notes: readonly string[];
  /** Results of the guards on the mix, and on the main print. */
  readonly guards: ReportContent['guards'];
  /** The mix as printed, also where it is not among the files; that of the first target. */
  readonly mix: Measurement;
}

/** All files of a print. */
export const filesOfPrint = <Content>({ prints, texts }: Pick<PrintedSong<Content>, 'prints' | 'texts'>) => [
  ...prints,
  ...texts,
];

/** A delivery with the level that it asks for. */
interface Delivery {
  readonly target: string | null;
  readonly aim: LevelAim;
  readonly level: LevelPlan;
}

/** Without a level target nothing is measured. */
const deliveriesOf = (mix: Sound, order: PrintOrder, targetName: string): Delivery[] => {
  const { targets = [] } = order;
  const aims: readonly { readonly target: string | null; readonly aim: LevelAim }[] =
    targets.length === 0 ? [{ target: null, aim: order }] : targets.map((aim) => ({ target: aim.name, aim }));
  const isAimed = aims.some(({ aim }) => aim.targetLufs !== null || aim.ceilingDbtp !== null);
  const figures = isAimed ? measure(mix) : { integratedLufs: null, truePeakDbtp: null };
  return aims.map(({ target, aim }) => ({ target, aim, level: planLevel(figures, aim, target ?? targetName) }));
};

/** Notes on the level, each with the name of its target. */
const levelNotes = (deliveries: readonly Delivery[]): string[] =>
  deliveries.map(({ target, level }) => (target === null ? level.note : `${target}: ${level.note}`));

/** Section starts and markers as cue points of a file. */
const cuePointsOf = (session: Session, { sampleRate, head, from, sounding }: Placing): CuePoint[] =>
  placesOf(session)
    .map(({ name, seconds }) => ({ name, at: Math.round(seconds * sampleRate) - from }))
    .filter(({ at }) => at >= 0 && at < sounding)
    .map(({ name, at }) => ({ name, frame: head + at }))
    .sort((a, b) => a.frame - b.frame);

/** Result of printing a part: files and notes. */
interface PartPrinted<Content> {
  readonly files: readonly Omit<Written<Content>, 'limitedSamples'>[];
  readonly notes: readonly string[];
  /** Of its first file. */
  readonly measured: FullMeasurement;
}

/** Writes the files of one order under unique names. */
class PartPrinter<Content> {
  private readonly free = new FreeNames();
  private readonly common;
  private readonly markers: readonly CuePoint[];
  private readonly tempo: number | null;

  constructor(
    session: Session,
    private readonly order: PrintOrder,
    private readonly placing: Placing,
    private readonly deliveries: readonly Delivery[],
    private readonly host: Pick<PrintHost<Content>, 'keeper' | 'date'>,
  ) {
    this.common = commonFacts(session, order, host.date);
    this.markers = cuePointsOf(session, placing);
    this.tempo = session.tempoChanges.length === 0 ? session.tempo : null;
  }

  /** @param sound the sound to print, before its gain */
  async print(part: PrintPart, sound: Sound): Promise<PartPrinted<Content>> {
    const { order, deliveries } = this;
    const [first] = deliveries as [Delivery];
    const made: PartPrinted<Content>[] = [];
    // The mix is made for the report even where it is not requested.
    const wanted = isAsked(part, order) ? deliveries : [first];
    if (isMix(part)) for (const each of wanted) made.push(await this.file(part, sound, each, each.level.gainDb));
    else
      made.push(await this.file(part, sound, { ...first, target: null }, order.stemsTakeGain ? first.level.gainDb : 0));
    const { measured } = made[0]!;
    return { files: made.flatMap(({ files }) => files), notes: made.flatMap(({ notes }) => notes), measured };
  }

  private fileOrder({ kind, words, seed }: PrintPart, target: string | null): FileOrder {
    const { form = 'wav', bits, names = null, shaped = false } = this.order;
    const facts = { ...this.common, kind: words, target: target ?? '' };
    const nth = Math.max(
      0,
      this.deliveries.findIndex((each) => each.target === target),
    );
    const nameFor = ({ integratedLufs }: Pick<Measurement, 'integratedLufs'>): string => {
      const loudness = integratedLufs === null ? '' : `${numberText(integratedLufs, 1)} LUFS`;
      return this.free.take(nameOf(names, { ...facts, loudness }));
    };
    const { title, artist } = this.common;
    const inFile = nameOf(null, { ...facts, title, loudness: '' });
    return {
      ...{ form, bits, shaped, kind, target, nameOf: nameFor, ending: FORM_ENDINGS[form] },
      seed: seed + nth * SEED_STEP,
      // As in a print of the whole song with the same silence before it.
      facts: { title: inFile, artist, tempo: this.tempo, startFrame: this.placing.from, markers: this.markers },
    };
  }

  private async file(
    part: PrintPart,
    sound: Sound,
    { target, aim }: Delivery,
    gainDb: number,
  ): Promise<PartPrinted<Content>> {
    const { order } = this;
    const { keeper } = this.host;
    const levelled = withGain(sound, gainDb);
    const { ending, ...fileOrder } = this.fileOrder(part, target);
    const file = await written(levelled, { ...fileOrder, ending }, keeper);
    const { name, figures } = file.print;
    const takesGain = part.kind !== 'main' && (isMix(part) || order.stemsTakeGain);
    const notes = [
      ...(file.limitedSamples > 0 ? [limitNote(name, file.limitedSamples)] : []),
      ...(takesGain ? ceilingNotes(name, figures.truePeakDbtp, aim) : []),
    ];
    if (!order.mp3Kbps || !isMix(part) || !isAsked(part, order))
      return { files: [file], notes, measured: file.measured };
    const copyName = `${name.slice(0, -ending.length)}.mp3`;
    const told = { name: copyName, kind: part.kind, target };
    const copy = await copied(levelled, told, fileOrder.facts, order.mp3Kbps, keeper);
    const [of, as] = [figures.integratedLufs, copy.print.figures.integratedLufs];
    const softer = copyNotes(copyName, of === null || as === null ? null : as - of);
    return { files: [file, copy], notes: [...notes, ...softer], measured: file.measured };
  }
}

/** Notes on the files, before those on clipped samples. */
const notesOf = (
  session: Session,
  order: PrintOrder,
  parts: readonly PrintPart[],
  deliveries: readonly Delivery[],
  cutTailSeconds: number | null,
): string[] => [
  ...(anyMix(parts) ? levelNotes(deliveries) : []),
  ...(parts.some(({ source }) => source.of === 'path' && !source.throughMixBus)
    ? [stemNote(session.mixBus.trimDb, order.stemsTakeGain ? deliveries[0]!.level.gainDb : null)]
    : []),
  ...scopeNotes(session, order),
  ...formNotes(order),
  ...(cutTailSeconds === null ? [] : [tailNote(cutTailSeconds)]),
  ...roughNotes(session, parts),
];

/** The report's content on the sound. */
const reportedFrom = async (
  { figures, series }: FullMeasurement,
  prints: readonly Print<unknown>[],
  sounds: PrintSounds,
  order: PrintOrder,
): Promise<Omit<ReportContent, 'title' | 'levelNotes' | 'guards' | 'date' | 'session'>> => ({
  files: prints.map(({ name, kind, target, bits, sampleRate, figures: each }) => ({
    ...{ name, kind, ...(target === null ? {} : { target }), bits, sampleRate, figures: each },
  })),
  before: await sounds.before(),
  after: { name: 'mix as printed', figures, shortTermLufs: series.shortTermLufs },
  ...(order.reportSound === true ? { sound: await sounds.heard() } : {}),
  ...{ flow: await sounds.flow(), trials: sounds.trials() },
  ...{ paths: sounds.ledger(), sumPeakDbtp: sounds.sumPeakDbtp() },
});

/**
 * Prints a song as sound files with a report, a recall sheet and a manifest. The mix is always made: it is in the report, and
 * its gain is that of the variants.
 * @param session the pass that is printed, where the order names one
 * @throws ProblemError if a target is asked for and the mix has no loudness
 */
export const printSong = async <Content>(
  session: Session,
  order: PrintOrder,
  sounds: PrintSounds,
  { keeper, tell, turn, targetName, date }: PrintHost<Content>,
): Promise<PrintedSong<Content>> => {
  await turn();
  const mix = sounds.mix();
  const placing = placingOf(mix, order);
  const main = placed(mix, placing);
  const deliveries = deliveriesOf(main, order, targetName);
  const parts = partsOf(session, order, sounds.stemIds);
  const asked = parts.filter((part) => isAsked(part, order));
  const notes = notesOf(session, order, asked, deliveries, sounds.cutTailSeconds);
  const files: Omit<Written<Content>, 'limitedSamples'>[] = [];
  const through: Sound[] = [];
  const printer = new PartPrinter(session, order, placing, deliveries, { keeper, date });
  let measured: FullMeasurement | null = null;
  const guards = { before: sounds.guards(null), after: [] as readonly ReportGuard[] };
  for (const [n, part] of parts.entries()) {
    const within = (inside: number): void => tell((n + 1 + inside) / (parts.length + 2));
    within(0);
    await turn();
    const { source } = part;
    const sound = n === 0 ? main : placed(await sounds.sound(source, (inside) => within(0.8 * inside)), placing);
    if (source.of === 'path' && source.throughMixBus) through.push(sound);
    const made = await printer.print(part, sound);
    measured ??= made.measured;
    if (n === 0) guards.after = sounds.guards(made.measured);
    if (!isAsked(part, order)) continue;
    files.push(...made.files);
    notes.push(...made.notes);
  }
  if (through.length > 0)
    notes.push(throughNote(through.length === sounds.stemIds.length ? differenceDb(main, through) : null));
  tell((parts.length + 1) / (parts.length + 2));
  await turn();
  const { figures } = measured!;
  const prints = files.map(({ print }) => print);
  const reported = reportedFrom(measured!, prints, sounds, order);
  const content = { ...(await reported), levelNotes: notes, guards, date, session, title: session.title };
  const levels = deliveries.map(({ target, level }) => ({ target, ...level }));
  return {
    ...{ prints, notes, sampleRate: placing.sampleRate, gainDb: levels[0]!.gainDb, levels, mix: figures, guards },
    targetMet: levels.every(({ met }) => met),
    ...(await textsOf(
      content,
      order,
      files.map(({ listed }) => listed),
    )),
  };
};
