import { passOf } from '../../session/passes/passes.ts';
import type { Session } from '../../session/schema.ts';
import { dryOf, VARIANTS, variantOf, withoutGroups } from '../../session/passes/variants.ts';
import { FORM_ENDINGS } from './file-form.ts';
import { MANIFEST_ENDING } from './manifest.ts';
import { FreeNames, nameOf, stemWords, type NameFacts } from './print-names.ts';
import type { FileKind, PrintOrder } from './print-order.ts';

/** Source of the sound of a file. */
export type PrintSource =
  /** A session after its mix bus. */
  | { readonly of: 'mix'; readonly session: Session }
  /** A group or bus of it at its fader or blend: before the mix bus, or through it by itself. */
  | { readonly of: 'path'; readonly session: Session; readonly id: string; readonly throughMixBus: boolean };

/** One sound to print. */
export interface PrintPart {
  readonly kind: FileKind;
  /** "main", "instrumental", "without Choir", "Drums", "Drums dry". */
  readonly words: string;
  /** Start of its dither: one for each file, as equal dither would add up when files are summed. */
  readonly seed: number;
  readonly source: PrintSource;
}

/** First dither seed of each kind: beyond any number of paths. */
const SEEDS = { main: 1, stems: 2, variants: 1000, without: 2000, pairs: 3000 };
/** Difference of dither seeds between two delivery targets. */
export const SEED_STEP = 10_000;

const VARIANT_WORDS = { instrumental: 'instrumental', 'a-cappella': 'a cappella', 'without-lead': 'without lead' };

/** Whether a file comes after the mix bus, and gets the gain of the mix. */
export const isMix = ({ source }: Pick<PrintPart, 'source'>): boolean => source.of === 'mix';

const stemsOf = (session: Session, { kinds, stemsThroughMixBus = false }: PrintOrder, ids: readonly string[]) => {
  const words = stemWords(session);
  const groups = new Set(session.groups.map(({ id }) => id));
  const kindOf = (id: string): FileKind | undefined => {
    if (kinds.includes('stems')) return 'stems';
    return (['group-stems', 'returns'] as const).find(
      (kind) => kinds.includes(kind) && (kind === 'returns') !== groups.has(id),
    );
  };
  return ids.flatMap((id, n): PrintPart[] => {
    const kind = kindOf(id);
    const source = { of: 'path', session, id, throughMixBus: stemsThroughMixBus } as const;
    return kind ? [{ kind, words: words.get(id)!, seed: SEEDS.stems + n, source }] : [];
  });
};

const pairsOf = (session: Session, ids: readonly string[]): PrintPart[] => {
  const words = stemWords(session);
  return ids.flatMap((id, n): PrintPart[] =>
    (['wet', 'dry'] as const).map((kind, side) => ({
      ...{ kind, words: `${words.get(id)!} ${kind}`, seed: SEEDS.pairs + 2 * n + side },
      source: { of: 'path', session: kind === 'wet' ? session : dryOf(session, id), id, throughMixBus: false },
    })),
  );
};

/** All sounds of an order; the mix is always first. `stemIds`: ids of the paths that are not silent. */
export const partsOf = (session: Session, order: PrintOrder, stemIds: readonly string[]): PrintPart[] => {
  const { kinds, without = [], pairs = [] } = order;
  const words = stemWords(session);
  return [
    { kind: 'main', words: 'main', seed: SEEDS.main, source: { of: 'mix', session } },
    ...VARIANTS.filter((kind) => kinds.includes(kind)).map((kind): PrintPart => ({
      ...{ kind, words: VARIANT_WORDS[kind], seed: SEEDS.variants + VARIANTS.indexOf(kind) },
      source: { of: 'mix', session: variantOf(session, kind) },
    })),
    ...without.map((id, n): PrintPart => ({
      ...{ kind: 'without', words: `without ${words.get(id)!}`, seed: SEEDS.without + n },
      source: { of: 'mix', session: withoutGroups(session, [id]) },
    })),
    ...stemsOf(session, order, stemIds),
    ...pairsOf(session, pairs),
  ];
};

/** Whether a part is delivered; the mix is always made. */
export const isAsked = ({ kind }: PrintPart, { kinds }: PrintOrder): boolean =>
  kind !== 'main' || kinds.includes('main');

const BITS_WORDS = { '16': '16 bit', '24': '24 bit', '32f': '32 bit float' } as const;

/** Name parts that all files of a print share. */
export const commonFacts = (
  session: Session,
  order: PrintOrder,
  date: Date,
): Omit<NameFacts, 'kind' | 'target' | 'loudness'> => ({
  title: session.title,
  artist: session.artist,
  pass: order.pass ? passOf(session, order.pass).name : '',
  section: order.span?.name ?? '',
  date: date.toISOString().slice(0, 10),
  rate: `${(order.rate ?? session.sampleRate) / 1000} kHz`,
  bits: BITS_WORDS[order.bits],
});

/** Names of the delivery targets; one without a name where there are none. */
export const targetNames = ({ targets = [] }: PrintOrder): readonly string[] =>
  targets.length === 0 ? [''] : targets.map(({ name }) => name);

/** Beginning of the names of all texts of a print. */
export const baseName = (session: Session, order: PrintOrder, date: Date): string =>
  nameOf(null, { ...commonFacts(session, order, date), kind: 'main', target: '', loudness: '' });

/** Names of the texts of a print. */
export const textNames = (main: string) => ({
  report: `${main} - report.md`,
  reportPage: `${main} - report.html`,
  reportData: `${main} - report.json`,
  recallSheet: `${main} - recall sheet.md`,
  recallPage: `${main} - recall sheet.html`,
  manifest: `${main}${MANIFEST_ENDING}`,
});

/** Placeholder of a loudness that is not measured yet. */
export const LOUDNESS_AHEAD = '-0.0 LUFS';

/**
 * Names of the files that a print may write, its texts too. Names with a loudness are known only when it is measured: here they
 * contain LOUDNESS_AHEAD.
 */
export const printFileNames = (session: Session, order: PrintOrder, date = new Date()): readonly string[] => {
  const { form = 'wav', names = null, mp3Kbps } = order;
  const every = [...session.groups, ...session.buses].map(({ id }) => id);
  const facts = { ...commonFacts(session, order, date), loudness: LOUDNESS_AHEAD };
  const free = new FreeNames();
  const sounds = partsOf(session, order, every)
    .filter((part) => isAsked(part, order))
    .flatMap((part) =>
      (isMix(part) ? targetNames(order) : ['']).flatMap((target) => {
        const name = free.take(nameOf(names, { ...facts, kind: part.words, target }));
        return [`${name}${FORM_ENDINGS[form]}`, ...(mp3Kbps && isMix(part) ? [`${name}.mp3`] : [])];
      }),
    );
  return [...sounds, ...Object.values(textNames(baseName(session, order, date)))];
};
