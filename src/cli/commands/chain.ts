import type { Command } from 'commander';
import { basename, dirname } from 'node:path';
import { onBothSides, secondsOf, type Audio } from '../../audio/audio.ts';
import { finished } from '../../audio/steps.ts';
import { chainLatency, type ChainStep } from '../../dsp/core/chain.ts';
import { processorOf } from '../../dsp/core/registry.ts';
import { readAudioFile, requireWritable, writeFilesWhole } from '../../files/node/node-files.ts';
import { silentKeyFlags } from '../../blend/ledger/key-flag.ts';
import { fittedToSteps } from '../../engine/jobs/fit-preset.ts';
import { keepInputs } from '../keep-inputs.ts';
import { readWav } from '../../files/wav/wav-read.ts';
import { writeWav, type WavBits } from '../../files/wav/wav-write.ts';
import { changeOf, type FigureChange } from '../../measure/change.ts';
import { changeText } from '../../measure/definitions/figure-text.ts';
import type { Measurement } from '../../measure/figures.ts';
import type { Figures } from '../../measure/figures.ts';
import { measure } from '../../measure/measure.ts';
import { renderChain } from '../../render/chain-render.ts';
import type { FittedChain } from '../../render/fit/fit-chain.ts';
import { fitWords } from '../../engine/fit-words.ts';
import { matchedChain, type Song } from '../../render/fit/match-make-up.ts';
import { processorItems } from '../../session/chain/chain-items.ts';
import { nearNames } from '../../session/near-names.ts';
import { presetByName, presets } from '../../session/presets/presets.ts';
import { described, listed, ProblemError } from '../../session/problem.ts';
import { parseJson, parseSession } from '../../session/read/parse.ts';
import type { Preset } from '../../session/presets/preset.ts';
import { chainFrom } from '../../session/presets/read-preset.ts';
import { chainSchema, CLOSED_DB, type ChainItems, type Session } from '../../session/schema.ts';
import { chainFiles } from '../../session/sound-files.ts';
import { stepsOf } from '../../session/values.ts';
import { nameOption, numberOption } from '../options.ts';
import { readText } from '../read-text.ts';
import { readProcessorSounds } from '../session-on-disk.ts';
import { aligned, figureTable } from '../tables.ts';
import type { Console } from '../console.ts';

/** One channel has half the power of the same sound on both loudspeakers: beside a stereo result it is measured on both. */
const FROM_BOTH_SIDES = '"before" is measured as if both loudspeakers play the file';

/** The meter of a file, which is not known. */
const FILE_METER: Session['meter'] = [4, 4];

interface Options {
  readonly preset?: string;
  readonly chain?: string;
  readonly mixBus?: string;
  readonly blend?: number;
  readonly out?: string;
  readonly bits: WavBits;
  readonly tempo: number;
  readonly match?: true;
  readonly asWritten?: true;
  readonly json?: true;
}

/** The change that one item of the chain made: a processor, or a split as a whole. */
interface Stage {
  /** Id of the processor; "split" for a split. */
  readonly processor: string;
  readonly label: string;
  readonly change: FigureChange;
}

/** The mix bus of a session as one chain: its trim, where there is one, and its processors. */
const mixBusOf = ({ mixBus: { trimDb, chain } }: Session): ChainItems => {
  const trim = { id: 'trim', processor: 'gain', settings: { gain: trimDb } };
  return trimDb === 0 ? chain : [...chainSchema.parse([trim]), ...chain];
};

/** The chain to run, and the tempo and meter of its note values. */
interface Asked extends Pick<Song, 'tempo' | 'meter'> {
  readonly asked: Preset | ChainItems;
}

/** The preset that is named, the chain that a file holds, or the mix bus of a session. */
const askedOf = async (options: Options): Promise<Asked> => {
  const { preset, chain, mixBus, tempo } = options;
  const given = [preset, chain, mixBus].filter((option) => option !== undefined).length;
  if (given !== 1) {
    const found = given === 0 ? 'none of them' : `${given} of them`;
    const expected = 'either --preset NAME, --chain FILE or --mix-bus SESSION';
    throw new ProblemError({ code: 'mismatch', path: 'chain', expected, found });
  }
  if (mixBus !== undefined) {
    const session = parseSession(await readText(mixBus), mixBus);
    return { asked: mixBusOf(session), tempo: session.tempo, meter: session.meter };
  }
  return { asked: await chainFor(preset, chain), tempo, meter: FILE_METER };
};

const chainFor = async (preset: string | undefined, chain: string | undefined): Promise<Preset | ChainItems> => {
  if (chain !== undefined) return chainFrom(parseJson(await readText(chain), chain), chain);
  const known = presetByName(preset!);
  if (known) return known;
  const near = nearNames(
    preset!,
    presets.map(({ name }) => name),
  );
  const meant = near.length > 0 ? ` (did you mean ${listed(near)}?)` : '';
  const expected = `a chain that \`tributary presets\` lists${meant}`;
  throw new ProblemError({ code: 'unknown-name', path: '--preset', expected, found: described(preset) });
};

const readSound = async (file: string): Promise<Audio> => {
  const audio = await readAudioFile(file);
  if (audio.channels.length <= 2) return audio;
  const found = `${audio.channels.length}`;
  throw new ProblemError({ code: 'mismatch', path: file, expected: 'one or two channels', found });
};

/** "EQ", "Compressor, mix 50 %", "Split (EQ; Compressor), mix 40 %". */
const stepLabel = (step: ChainStep): string => {
  const name = 'split' in step ? `Split (${step.split.map(stepLabel).join('; ')})` : processorOf(step.processor).label;
  return step.wetDry ? `${name}, mix ${Number((100 * step.wetDry.wet).toFixed(1))} %` : name;
};

/** The change that each item makes to the sound that reaches it, on both sides; latency is removed before measuring. */
const measureStages = (heard: Audio, before: Measurement, steps: readonly ChainStep[]): Stage[] => {
  let sound = heard;
  let figures = before;
  return steps.map((step) => {
    sound = renderChain(sound, [step], null);
    const after = measure(sound);
    const stage = {
      processor: 'split' in step ? 'split' : step.processor,
      label: stepLabel(step),
      change: changeOf(figures, after),
    };
    figures = after;
    return stage;
  });
};

const write = async (out: string, audio: Audio, bits: WavBits): Promise<{ audio: Audio; limited: number }> => {
  const { bytes, limitedSamples } = writeWav(audio, bits);
  await writeFilesWhole(dirname(out), [{ name: basename(out), content: bytes }]);
  return { audio: readWav(bytes, out), limited: limitedSamples };
};

const limitedNote = (samples: number, out: string): string =>
  `${samples} samples of ${out} exceeded full scale and were clipped; --bits 32f keeps them.`;

const stageTable = (stages: readonly Stage[]): string =>
  aligned([
    ['Stage by stage', 'loudness LU', 'true peak dB', 'crest dB', 'side to mid dB'],
    ...stages.map(({ label, change }, n) => [
      `${n + 1} ${label}`,
      ...[change.integratedLufs, change.truePeakDbtp, change.crestDb, change.stereo.sideToMidDb].map((value) =>
        changeText(value, 1),
      ),
    ]),
  ]);

const loudness = (audio: Audio): number | null => measure(audio).integratedLufs;

/** The fitted settings, as in `--json`. */
const fittedAnswer = ({ chain, items, gainDb, levelLu, softerFor }: FittedChain) => ({
  processors: items.map(({ item, reachedDb, settings, gainDb: before, taken }) => ({
    id: item.id,
    processor: item.processor,
    reachedDb,
    settings,
    gainDb: before,
    ...(taken && { reductionDb: { mean: taken.meanDb, peak: taken.peakDb } }),
  })),
  ...{ gainDb, levelLu, softerFor, chain },
});

/** A chain fitted to the sound, and the settings that were changed for that. */
interface ReadyChain {
  readonly chain: ChainItems;
  readonly makeUpDb?: readonly (number | null)[];
  readonly fitted?: FittedChain;
}

const readyChain = (
  audio: Audio,
  asked: Preset | ChainItems,
  { match, asWritten }: Options,
  song: Song,
  console: Console,
): ReadyChain => {
  if ('chain' in asked && !asWritten) {
    console.progress('Fitting the preset to the sound');
    const fitted = finished(fittedToSteps({ sound: onBothSides(audio), key: null }, asked, song));
    return { chain: fitted.chain, fitted };
  }
  const chain = 'chain' in asked ? asked.chain : asked;
  if (!match) return { chain };
  console.progress('Matching the make-up');
  return matchedChain(audio, chain, null, song, loudness);
};

/** The make-up set for each compressor, or a line that there is none. */
const makeUpText = (chain: ChainItems, makeUpDb: readonly (number | null)[]): string => {
  const lines = processorItems(chain).flatMap(({ processor }, n) => {
    const set = makeUpDb[n] ?? null;
    return set === null ? [] : [`Make-up set: ${n + 1} ${processorOf(processor).label} ${set.toFixed(2)} dB\n`];
  });
  return lines.length > 0 ? lines.join('') : 'Make-up set: none, as no processor that is on has one\n';
};

/** @throws ProblemError when the result cannot be written to `out`, or would replace an input */
const requirePlace = async (out: string, inputs: readonly string[]): Promise<void> => {
  await requireWritable(dirname(out));
  await keepInputs([out], inputs);
};

/** Figures before and after, below a line on what was run. */
const figuresText = (
  heading: string,
  { before, after, change }: { readonly before: Figures; readonly after: Figures; readonly change: Figures },
): string =>
  `${heading}\n${figureTable([
    { heading: 'before', figures: before },
    { heading: 'after', figures: after },
    { heading: 'change', figures: change, isChange: true },
  ])}`;

const runChain = async (file: string, options: Options, console: Console): Promise<void> => {
  const { blend = null, out, bits, json } = options;
  const readFrom = options.chain ?? options.mixBus ?? '';
  if (out !== undefined) await requirePlace(out, [file, readFrom]);
  const { asked, tempo, meter } = await askedOf(options);
  console.progress(`Reading ${file}`);
  const audio = await readSound(file);
  const named = chainFiles('chain' in asked ? asked.chain : asked, []);
  const sounds = await readProcessorSounds(readFrom, named, audio.sampleRate);
  const { chain, makeUpDb, fitted } = readyChain(audio, asked, options, { tempo, meter, sounds }, console);
  const steps = stepsOf(chain, tempo, meter, sounds);
  console.progress('Running the chain');
  const rendered = renderChain(audio, steps, blend);
  const written = out === undefined ? { audio: rendered, limited: 0 } : await write(out, rendered, bits);
  console.progress('Measuring');
  const after = measure(written.audio);
  const fromBothSides = written.audio.channels.length > audio.channels.length;
  const heard = onBothSides(audio);
  const heardBefore = measure(heard);
  const before = written.audio.channels.length === 2 ? heardBefore : measure(audio);
  const change = changeOf(before, after);
  const stages = measureStages(heard, heardBefore, steps);
  const latencySamples = chainLatency(steps, audio.sampleRate);
  const tailSeconds = secondsOf(written.audio) - secondsOf(audio);
  if (written.limited > 0) console.note(limitedNote(written.limited, out!));
  const flags = silentKeyFlags(chain, { tempo, meter });
  for (const { reason } of flags) console.note(`${reason} A single file has no key input.`);
  if (json) {
    const answer = {
      file,
      blendDb: blend,
      ...(fromBothSides && { note: FROM_BOTH_SIDES }),
      before,
      after,
      change,
      latencySamples,
      tailSeconds,
      stages,
      ...(makeUpDb && { makeUpDb }),
      fitted: fitted ? fittedAnswer(fitted) : null,
      flags,
      out: out ?? null,
    };
    console.out(`${JSON.stringify(answer, null, 2)}\n`);
    return;
  }
  const how = blend === null ? 'in series' : `in parallel at ${blend} dB`;
  const tail = tailSeconds > 0 ? `; ${tailSeconds.toFixed(2)} s longer by its tail` : '';
  const heading = `${file}, ${how}; latency of ${latencySamples} samples removed${tail}`;
  console.out(figuresText(heading, { before, after, change }));
  if (fromBothSides) console.out(`\nOne channel in, two out: ${FROM_BOTH_SIDES}.\n`);
  if (stages.length > 0) console.out(`\n${stageTable(stages)}`);
  if (makeUpDb) console.out(`\n${makeUpText(chain, makeUpDb)}`);
  if (fitted) console.out(`\n${['Fitted to the sound', ...fitWords(fitted)].join('\n  ')}\n`);
  if (out !== undefined) console.out(`\nWritten: ${out}\n`);
};

export const addChain = (program: Command, console: Console): void => {
  program
    .command('chain')
    .description(
      'Runs one chain on one file, in series, or in parallel to the dry sound at a blend. Where a mono file becomes stereo, "before" is measured as if both loudspeakers play it.',
    )
    .argument('<in>', 'a WAV, AIFF, CAF, FLAC, MP3, Ogg Vorbis or Opus file of one or two channels')
    .option(
      '--preset <name>',
      'a preset by name, fitted to the sound: thresholds, make-up and gain are set for the level that reaches each processor',
    )
    .option('--as-written', 'use the preset as written, not fitted')
    .option('--chain <file>', 'a preset file, or a JSON array of chain items')
    .option(
      '--mix-bus <session>',
      'the mix bus of a session (trim, then chain) at its tempo, for example on the rough, measured stage by stage',
    )
    .option(
      '--blend <dB>',
      'add the chain to the dry sound at this level',
      numberOption('--blend', 'dB', CLOSED_DB, 24),
    )
    .option(
      '--tempo <bpm>',
      'tempo for note values, quarter notes per minute',
      numberOption('--tempo', 'a minute', 20, 400),
      120,
    )
    .option('--match', 'set the make-up of each compressor so that its output is as loud as its input')
    .option('--out <file>', 'write the result as a WAV file')
    .option('--bits <bits>', '16, 24 or 32f', nameOption('--bits', ['16', '24', '32f']), '24')
    .option('--json', 'one JSON document')
    .action((file: string, options: Options) => runChain(file, options, console));
};
