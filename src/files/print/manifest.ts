import { z } from 'zod';
import type { Figures } from '../../measure/figures.ts';
import { parseJson, headerProblem } from '../../session/read/parse.ts';
import { inFile, ProblemError } from '../../session/problem.ts';
import { readShape } from '../../session/read/shape.ts';

/** Figures of a sound file that a manifest lists and `verify` checks. */
export const MANIFEST_FIGURES = [
  'integratedLufs',
  'loudnessRangeLu',
  'maxMomentaryLufs',
  'maxShortTermLufs',
  'truePeakDbtp',
  'samplePeakDbfs',
  'rmsDbfs',
] as const;

const MANIFEST_FORMAT = 'tributary-manifest';
const MANIFEST_VERSION = 1;
export const MANIFEST_ENDING = ' - manifest.json';

const count = z.number().int().min(0);
const figure = z.number().nullable();

const soundSchema = z.strictObject({
  kind: z.string(),
  /** Name of the delivery target that it was printed for. */
  target: z.string().optional(),
  bits: z.string(),
  /** Hz. */
  sampleRate: count,
  channels: count,
  frames: count,
  figures: z.record(z.enum(MANIFEST_FIGURES), figure),
});

const fileSchema = z.strictObject({
  /** Relative to the folder of the manifest. */
  path: z.string().min(1),
  bytes: count,
  /** FIPS 180-4, 64 hexadecimal digits. */
  sha256: z.string().regex(/^[0-9a-f]{64}$/, 'a SHA-256 of 64 hexadecimal digits'),
  sound: soundSchema.optional(),
});

const manifestSchema = z.strictObject({
  format: z.literal(MANIFEST_FORMAT),
  version: z.literal(MANIFEST_VERSION),
  title: z.string(),
  artist: z.string(),
  /** When it was printed (ISO 8601). */
  printed: z.string(),
  /** Every file begins at this time of the song, seconds. */
  startsAtSeconds: z.number(),
  /** Name of the pass that was printed, and of the part of the song; absent: the current mix, and the whole song. */
  pass: z.string().optional(),
  section: z.string().optional(),
  files: z.array(fileSchema),
});

/** The delivered files: every file of a print with its digest, and the figures of each sound file. */
export type Manifest = z.output<typeof manifestSchema>;
export type ManifestFile = Manifest['files'][number];

/** The figures of a sound file for a manifest. */
export const manifestFiguresOf = (figures: Figures): z.output<typeof soundSchema>['figures'] =>
  Object.fromEntries(MANIFEST_FIGURES.map((key) => [key, figures[key]])) as z.output<typeof soundSchema>['figures'];

export const manifestText = (manifest: Omit<Manifest, 'format' | 'version'>): string =>
  `${JSON.stringify({ format: MANIFEST_FORMAT, version: MANIFEST_VERSION, ...manifest }, null, 2)}\n`;

/**
 * Reads a manifest.
 * @throws ProblemError that names the file and the field
 */
export const parseManifest = (text: string, fileName: string): Manifest => {
  const json = parseJson(text, fileName);
  const header = headerProblem(json, MANIFEST_FORMAT, MANIFEST_VERSION);
  if (header) throw new ProblemError(inFile(fileName, header));
  const { value, problems } = readShape(manifestSchema, json);
  if (problems) throw new ProblemError(inFile(fileName, problems[0]));
  return value;
};
