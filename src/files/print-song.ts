import { framesOf, placedSound, type Sound } from '../audio/audio.ts';
import { resampled } from '../audio/resample.ts';
import { numberText } from '../measure/figure-text.ts';
import type { Measurement } from '../measure/figures.ts';
import { fullMeasurementOf, measure, type FullMeasurement } from '../measure/measure.ts';
import { Meter } from '../measure/meter.ts';
import type { Session } from '../session/schema.ts';
import { roughWords } from '../session/rough-source.ts';
import { VARIANTS, type Variant } from '../session/variants.ts';
import { ceilingOf, planLevel, withGain, type LevelAim, type LevelPlan } from './print-level.ts';
import { printNames } from './print-names.ts';
import { recallPage, recallSheet } from './recall-sheet.ts';
import { report, reportData, reportPage, type ReportContent, type ReportGuard, type ReportPath } from './report.ts';
import { refuseNonFinite } from './wav-read.ts';
import { takeApart } from './wav-samples.ts';
import { decodeAudioFile } from './decode.ts';
import type { FileKeeper } from './file-keeper.ts';
import { mp3Of, mp3RateOf, type Mp3Kbps } from './mp3-write.ts';
import { manifestFiguresOf, manifestText, MANIFEST_ENDING, type ManifestFile } from './manifest.ts';
import { digestOf } from './sha256.ts';
import { bextChunk, cueChunks, type CuePoint } from './wav-tags.ts';
import { paddingOf, sampleBytesOf, wavHead } from './wav-head.ts';
import { wavFormatOf, wavPieces, type WavBits } from './wav-write.ts';

/**
 * main: the mix after the mix bus; instrumental and a cappella: the same without the vocal groups, or with them alone, at
 * the gain of the main print. stems: one file a path, before the mix bus; together they are the mix before it.
 */
export const PRINT_KINDS = ['main', ...VARIANTS, 'stems'] as const;
export type PrintKind = (typeof PRINT_KINDS)[number];

/** Options of a print. */
export interface PrintOrder extends LevelAim {
  readonly bits: WavBits;
  /** Hz; null: that of the session. */
  readonly rate: number | null;
  readonly kinds: readonly PrintKind[];
  /** True: stems get the same gain as the mix; false: they stay at their level. */
  readonly stemsTakeGain: boolean;
  /** Bit rate of an MP3 beside each WAV file that is no stem, for listening, kbit/s; null or absent: none is made. */
  readonly mp3Kbps?: Mp3Kbps | null;
}

/** The sounds to be printed, at the session’s rate, stereo. */
export interface PrintSounds {
  /** The mix after the mix bus. */
  readonly mix: () => Sound;
  /** The same of a variant, which is rendered first. */
  readonly variant: (variant: Variant) => Promise<Sound>;
  /** Ids of the paths that give something. */
  readonly stemIds: readonly string[];
  readonly stem: (id: string) => Sound;
  /** How long after the song a tail that sounds on is faded out, seconds; null: none does. */
  readonly cutTailSeconds: number | null;
  /** What the report compares the mix with. */
  readonly before: () => Promise<ReportContent['before']>;
  /** Guard results of the mix before its level is set (null), or of the main print. */
  readonly guards: (print: Omit<FullMeasurement, 'series'> | null) => readonly ReportGuard[];
  /** What each path does to the mix. */
  readonly ledger: () => readonly ReportPath[];
  /** True peak of the sum before the trim, dBTP; null in silence. */
  readonly sumPeakDbtp: () => number | null;
}

/** Interface to the caller: where files go, and what is done before each part of the work. */
export interface PrintHost<Content> {
  readonly keeper: FileKeeper<Content>;
  /** `done` is 0..1; rejects to stop. */
  readonly pace: (done: number) => Promise<void>;
  /** What messages call the loudness target. */
  readonly targetName: string;
  /** Of the print. */
  readonly date: Date;
}

/** One printed file. */
export interface Print<Content> {
  /** File name with its ending. */
  readonly name: string;
  readonly kind: PrintKind;
  /** "24"; "MP3 192" for a copy. */
  readonly bits: string;
  readonly content: Content;
  /** Measured from the samples as written. */
  readonly figures: Measurement;
}

/** A text that goes with the printed files. */
export interface PrintText {
  readonly name: string;
  readonly content: string;
}

export interface PrintedSong<Content> {
  readonly prints: readonly Print<Content>[];
  readonly report: PrintText;
  readonly recallSheet: PrintText;
  /** Every file of the print with its digest, as `verify` reads it. */
  readonly manifest: PrintText;
  /** All texts: report and recall sheet in their forms, and the manifest. */
  readonly texts: readonly PrintText[];
  readonly sampleRate: number;
  /** Applied to the mix and its variants, dB. */
  readonly gainDb: number;
  /** The loudness target is met, or none was asked for. */
  readonly targetMet: boolean;
  /** What was done to the level, and what to know of the files, one sentence each. */
  readonly notes: readonly string[];
  /** What the guards say of the mix, and of the main print. */
  readonly guards: ReportContent['guards'];
  /** The mix as printed, also where it is not among the files. */
  readonly mix: Measurement;
}

/** All files of a print. */
export const filesOfPrint = <Content>({ prints, texts }: PrintedSong<Content>) => [...prints, ...texts];

/** One file to be made. */
interface Job {
  readonly name: string;
  readonly kind: PrintKind;
  /** Start of its dither: one for each file, as equal dither would add up when files are summed. */
  readonly seed: number;
  readonly make: () => Sound | Promise<Sound>;
}

/** Dither seeds: stems begin behind the main mix, variants beyond any number of stems. */
const [MAIN_SEED, STEM_SEED, VARIANT_SEED] = [1, 2, 1000];

/** Note for whoever sums the stems: the trim and the gain of the mix. */
const stemNote = (trimDb: number, gainDb: number | null): string => {
  const trim = trimDb === 0 ? '' : ` and its trim of ${numberText(trimDb, 1)} dB`;
  const gain = gainDb === null ? '' : `, with the gain of the main print (${numberText(gainDb, 2)} dB) on each`;
  return `The stems are at the level of the mix before the mix bus${trim}${gain}.`;
};

const tailNote = (seconds: number): string =>
  `A tail sounds on for more than ${seconds} s after the song; the prints fade out there.`;

/**
 * Note on samples limited to full scale: the figures, measured from the file, do not show by how much they were over.
 */
const limitNote = (name: string, samples: number): string =>
  `${samples} ${samples === 1 ? 'sample' : 'samples'} of ${name} lay beyond full scale and ${samples === 1 ? 'was' : 'were'} limited to it; print as 32 bit float (32f), or lower the level.`;

/** Note on a file that takes the gain of the mix, and with it more than the ceiling that the mix is held to. */
const ceilingNote = (name: string, truePeakDbtp: number | null, aim: LevelAim): string[] => {
  const ceiling = ceilingOf(aim);
  if (ceiling === null || truePeakDbtp === null || truePeakDbtp <= ceiling) return [];
  return [
    `${name} takes the gain of the mix and reaches ${truePeakDbtp.toFixed(2)} dBTP, above the ceiling of ${ceiling} dBTP, which the mix is held to.`,
  ];
};

/** Nothing is measured where nothing is asked of the level. */
const levelOf = (mix: Sound, aim: LevelAim, targetName: string): LevelPlan => {
  const asked = aim.targetLufs !== null || aim.ceilingDbtp !== null;
  return planLevel(asked ? measure(mix) : { integratedLufs: null, truePeakDbtp: null }, aim, targetName);
};

/** Name of a variant's file, without ending. */
const variantName = (main: string, kind: Variant): string => `${main} - ${kind === 'a-cappella' ? 'a cappella' : kind}`;

/** Names of the files that a print of these kinds may write, its texts too. */
export const printFileNames = (
  session: Session,
  kinds: readonly PrintKind[],
  mp3Kbps?: PrintOrder['mp3Kbps'],
): readonly string[] => {
  const { main, stems } = printNames(session);
  const mixes = [
    ...(kinds.includes('main') ? [main] : []),
    ...VARIANTS.filter((kind) => kinds.includes(kind)).map((kind) => variantName(main, kind)),
  ];
  const sounds = [...mixes, ...(kinds.includes('stems') ? stems.values() : [])].map((name) => `${name}.wav`);
  const copies = !mp3Kbps ? [] : mixes.map((name) => copyName(`${name}.wav`));
  return [...sounds, ...copies, ...Object.values(textNames(main))];
};

/** Name of the MP3 beside a WAV file. */
const copyName = (name: string): string => name.replace(/\.wav$/, '.mp3');

/** What files say that they were made by. */
const ORIGINATOR = 'Tributary';

/** Names of the texts of a print. */
const textNames = (main: string) => ({
  report: `${main} - report.md`,
  reportPage: `${main} - report.html`,
  reportData: `${main} - report.json`,
  recallSheet: `${main} - recall sheet.md`,
  recallPage: `${main} - recall sheet.html`,
  manifest: `${main}${MANIFEST_ENDING}`,
});

/** The files to be made, the mix first in any case. */
const jobsOf = (session: Session, { kinds }: PrintOrder, sounds: PrintSounds, levelled: Levelled): Job[] => {
  const names = printNames(session);
  const variants = VARIANTS.filter((kind) => kinds.includes(kind));
  return [
    { name: `${names.main}.wav`, kind: 'main', seed: MAIN_SEED, make: levelled.mix },
    ...variants.map((kind): Job => ({
      ...{ name: `${variantName(names.main, kind)}.wav`, kind, seed: VARIANT_SEED + VARIANTS.indexOf(kind) },
      make: () => levelled.variant(kind),
    })),
    ...(kinds.includes('stems') ? sounds.stemIds : []).map((id, n): Job => ({
      ...{ name: `${names.stems.get(id)!}.wav`, kind: 'stems', seed: STEM_SEED + n },
      make: () => levelled.stem(id),
    })),
  ];
};

/** The sounds at the rate and the level of the print. */
interface Levelled {
  readonly level: LevelPlan;
  readonly mix: () => Sound;
  readonly variant: (variant: Variant) => Promise<Sound>;
  readonly stem: (id: string) => Sound;
}

/** A sound of exactly so many frames: all prints of a song are as long as the mix, so that they line up at both ends. */
const asLong = (sound: Sound, frames: number): Sound => placedSound(sound, 0, frames);

const levelledOf = (sounds: PrintSounds, rate: number, order: PrintOrder, targetName: string): Levelled => {
  const mix = resampled(sounds.mix(), rate);
  const frames = framesOf(mix);
  const level = levelOf(mix, order, targetName);
  const { gainDb } = level;
  return {
    level,
    mix: () => withGain(mix, gainDb),
    variant: async (kind) => withGain(asLong(resampled(await sounds.variant(kind), rate), frames), gainDb),
    stem: (id) => withGain(asLong(resampled(sounds.stem(id), rate), frames), order.stemsTakeGain ? gainDb : 0),
  };
};

interface Written<Content> {
  readonly content: Content;
  readonly limitedSamples: number;
  /** Of the samples as they are in the file. */
  readonly measured: FullMeasurement;
  /** The file as the manifest tells of it. */
  readonly listed: ManifestFile;
}

/** Frames that are measured together: they stay near the processor meanwhile. */
const MEASURED_FRAMES = 8192;

/** Where sections begin, as cue points of a file of so many frames. */
const cuePointsOf = ({ sections }: Session, sampleRate: number, frames: number): CuePoint[] =>
  sections
    .map(({ name, startSeconds }) => ({ name, frame: Math.round(startSeconds * sampleRate) }))
    .filter(({ frame }) => frame < frames)
    .sort((a, b) => a.frame - b.frame);

/** What a file says that it is: "Artist - Title - Drums". */
const descriptionOf = ({ artist }: Session, name: string): string =>
  [...(artist === '' ? [] : [artist]), name.replace(/\.wav$/, '')].join(' - ');

/** Writes a sound into a file piece by piece, and measures it as it is written; what the file tells of itself comes last, at its beginning. */
const written = async <Content>(
  session: Session,
  sound: Sound,
  { name, kind, bits, seed }: Pick<Job, 'name' | 'kind' | 'seed'> & Pick<PrintOrder, 'bits'>,
  keeper: FileKeeper<Content>,
): Promise<Written<Content>> => {
  const format = wavFormatOf(sound, bits);
  const { sampleRate, channels } = format;
  const length = framesOf(sound);
  const meter = new Meter(sampleRate, channels, { details: true });
  const sink = keeper.hold();
  let limitedSamples = 0;
  for (const piece of wavPieces(sound, bits, { seed })) {
    sink.write(piece.bytes);
    limitedSamples += piece.limitedSamples;
    const { frames } = piece;
    const samples = sound.channels.map(() => new Float32Array(frames));
    takeApart(format, piece.bytes, frames, samples);
    if (format.encoding === 'float') refuseNonFinite(samples, frames, meter.frames, name);
    for (let from = 0; from < frames; from += MEASURED_FRAMES)
      meter.push(samples, from, Math.min(MEASURED_FRAMES, frames - from));
  }
  sink.write(paddingOf(sampleBytesOf(format, length)));
  const measured = fullMeasurementOf(meter);
  const { figures } = measured;
  const description = descriptionOf(session, name);
  const tags = [
    bextChunk({ description, originator: ORIGINATOR, startFrame: 0, format, figures }),
    ...cueChunks(cuePointsOf(session, sampleRate, length)),
  ];
  const content = sink.end(wavHead(format, length, tags));
  const listed = {
    path: name,
    ...(await digestOf(keeper.bytesOf(content))),
    sound: { kind, bits, sampleRate, channels, frames: length, figures: manifestFiguresOf(figures) },
  };
  return { content, limitedSamples, measured, listed };
};

/** An MP3 beside a printed file, measured from what a decoder makes of it. */
const copied = async <Content>(
  sound: Sound,
  { name, kind }: Pick<Job, 'name' | 'kind'>,
  kbps: Mp3Kbps,
  keeper: FileKeeper<Content>,
): Promise<{ readonly print: Print<Content>; readonly listed: ManifestFile }> => {
  const bytes = await mp3Of(sound, kbps);
  const decoded = await decodeAudioFile(bytes, copyName(name));
  const figures = measure(decoded);
  const content = keeper.hold().end(bytes);
  const bits = `MP3 ${kbps}`;
  const { sampleRate, channels } = decoded;
  const told = { kind, bits, sampleRate, channels: channels.length, frames: framesOf(decoded) };
  return {
    print: { name: copyName(name), kind, bits, content, figures },
    listed: {
      path: copyName(name),
      ...(await digestOf(keeper.bytesOf(content))),
      sound: { ...told, figures: manifestFiguresOf(figures) },
    },
  };
};

/** A text as the manifest tells of it. */
const listedText = async ({ name, content }: PrintText): Promise<ManifestFile> => ({
  path: name,
  ...(await digestOf([new TextEncoder().encode(content)])),
});

/** Note on the rough where buses contain it: what a variant leaves out or a stem holds apart is in there too. */
const roughNotes = (session: Session, files: readonly Job[]): string[] => {
  const words = roughWords(session);
  if (words === null) return [];
  const apart = files.some(({ kind }) => kind !== 'main');
  return [`${words}${apart ? ' So do the instrumental, the a cappella and the stems of these buses.' : ''}`];
};

/** What is to be known of the files before those with samples beyond full scale. */
const notesOf = (
  session: Session,
  { stemsTakeGain }: PrintOrder,
  files: readonly Job[],
  level: LevelPlan,
  cutTailSeconds: number | null,
): string[] => [
  ...(files.some(({ kind }) => kind !== 'stems') ? [level.note] : []),
  ...(files.some(({ kind }) => kind === 'stems')
    ? [stemNote(session.mixBus.trimDb, stemsTakeGain ? level.gainDb : null)]
    : []),
  ...(cutTailSeconds === null ? [] : [tailNote(cutTailSeconds)]),
  ...roughNotes(session, files),
];

/** The texts of a print whose sound files are `listed`. */
const textsOf = async (
  content: ReportContent,
  listed: readonly ManifestFile[],
): Promise<Pick<PrintedSong<unknown>, 'report' | 'recallSheet' | 'manifest' | 'texts'>> => {
  const { session, date } = content;
  const { title, artist } = session;
  const names = textNames(printNames(session).main);
  const reported = { name: names.report, content: report(content) };
  const recalled = { name: names.recallSheet, content: recallSheet(session) };
  const told = [
    { name: names.reportPage, content: reportPage(content) },
    reported,
    { name: names.reportData, content: reportData(content) },
    { name: names.recallPage, content: recallPage(session) },
    recalled,
  ];
  const manifest = {
    name: names.manifest,
    content: manifestText({
      ...{ title, artist, printed: date.toISOString(), startsAtSeconds: 0 },
      files: [...listed, ...(await Promise.all(told.map(listedText)))],
    }),
  };
  return { report: reported, recallSheet: recalled, manifest, texts: [...told, manifest] };
};

/**
 * Prints a song as WAV files with a report, a recall sheet and a manifest. The mix is made in any case: the report tells of it, and
 * its gain is that of the variants.
 * @throws ProblemError if a target is asked for and the mix has no loudness
 */
export const printSong = async <Content>(
  session: Session,
  order: PrintOrder,
  sounds: PrintSounds,
  { keeper, pace, targetName, date }: PrintHost<Content>,
): Promise<PrintedSong<Content>> => {
  const { bits, kinds } = order;
  const sampleRate = order.rate ?? session.sampleRate;
  await pace(0);
  const levelled = levelledOf(sounds, sampleRate, order, targetName);
  const jobs = jobsOf(session, order, sounds, levelled);
  const asked = jobs.filter(({ kind }) => kinds.includes(kind));
  const notes = notesOf(session, order, asked, levelled.level, sounds.cutTailSeconds);
  const prints: Print<Content>[] = [];
  const listed: ManifestFile[] = [];
  let shortTermLufs: Float64Array = new Float64Array();
  const guards = { before: sounds.guards(null), after: [] as readonly ReportGuard[] };
  for (const [n, { name, kind, seed, make }] of jobs.entries()) {
    await pace((n + 1) / (jobs.length + 2));
    const sound = await make();
    const file = await written(session, sound, { name, kind, bits, seed }, keeper);
    const { content, limitedSamples, measured } = file;
    if (limitedSamples > 0 && kinds.includes(kind)) notes.push(limitNote(name, limitedSamples));
    if (kind !== 'main' && kinds.includes(kind) && (kind !== 'stems' || order.stemsTakeGain))
      notes.push(...ceilingNote(name, measured.figures.truePeakDbtp, order));
    if (kind === 'main') {
      guards.after = sounds.guards(measured);
      shortTermLufs = measured.series.shortTermLufs;
    }
    prints.push({ name, kind, bits, content, figures: measured.figures });
    if (kinds.includes(kind)) listed.push(file.listed);
    if (order.mp3Kbps && kind !== 'stems' && kinds.includes(kind)) {
      const copy = await copied(sound, { name, kind }, order.mp3Kbps, keeper);
      prints.push(copy.print);
      listed.push(copy.listed);
    }
  }
  await pace((jobs.length + 1) / (jobs.length + 2));
  const mix = prints[0]!.figures;
  const handed = prints.filter(({ kind }) => kinds.includes(kind));
  const content: ReportContent = {
    title: session.title,
    files: handed.map(({ name, kind, bits: form, figures }) => ({
      ...{ name, kind, bits: form, figures },
      sampleRate: form === bits ? sampleRate : mp3RateOf({ sampleRate }),
    })),
    levelNotes: notes,
    before: await sounds.before(),
    after: { name: 'mix as printed', figures: mix, shortTermLufs },
    ...{ guards, paths: sounds.ledger(), sumPeakDbtp: sounds.sumPeakDbtp(), date, session },
  };
  return {
    ...{ prints: handed, notes, sampleRate, gainDb: levelled.level.gainDb, targetMet: levelled.level.met, mix, guards },
    ...(await textsOf(content, listed)),
  };
};
