import { familyOf, isSungByName } from '../session/roles.ts';

/** What the name of a received file tells. */
export interface NameTold {
  /** For the track: words only, no number in front, no mark of a take or an export behind. */
  readonly name: string;
  /** For the group, by the words of the name; null where they tell nothing. */
  readonly group: string | null;
  readonly isSung: boolean;
  /** Which side of a pair it is, where the name ends so. */
  readonly side: 'left' | 'right' | null;
  /** The name without its side: two files that share it are a pair. */
  readonly stem: string;
}

/** Where tracks go whose names tell nothing. */
export const OTHER_GROUP = 'Other';

/** The last part of a path. */
const baseName = (path: string): string => path.slice(path.lastIndexOf('/') + 1);

/** Numbers in front, as sessions write them to keep an order: "03 Bass", "03-01_Bass", "T03. Bass". */
const NUMBER = /^(?:t(?:rack)?\s*)?\d{1,3}(?:[\s._-]+\d{1,3})*[\s._-]+(?=\p{L})/iu;
/** What takes and exports leave behind: take, version, render and consolidation marks, dates, rates and depths. */
const MARKS = [
  /[\s._-]+(?:take|tk|t)[\s._-]*\d{1,3}$/i,
  /[\s._-]+(?:v|ver|version|rev)[\s._-]*\d{1,3}$/i,
  /[\s._-]+(?:bip|cons|consolidated|glued|render(?:ed)?|bounce[ds]?|export(?:ed)?|comp(?:ed)?|print(?:ed)?|dup|copy|raw|edit(?:ed)?|tuned|final|stem)\d*$/i,
  /[\s._-]+\(\d+\)$/,
  /[\s._-]+\d{6,8}$/,
  /[\s._-]+(?:16|24|32)[\s._-]*bits?$/i,
  /[\s._-]+(?:44|48|88|96|176|192)(?:[.,]\d)?[\s._-]*k(?:hz)?$/i,
];
const SIDE = /(?:[\s._-]+|[\s._-]*[([]|(?<=\p{Ll}))(l|r|left|right|L|R)[)\]]?$/u;

const withoutMarks = (name: string): string => {
  let plain = name;
  for (let before = ''; before !== plain;) {
    before = plain;
    for (const mark of MARKS) {
      const shorter = plain.replace(mark, '');
      if (/\p{L}/u.test(shorter)) plain = shorter;
    }
  }
  return plain;
};

const asWords = (name: string): string =>
  name
    .replace(/_+|(?<=\p{L})-(?=\p{L})/gu, ' ')
    .replace(/[\s-]+$|^[\s-]+/g, '')
    .replace(/\s+/g, ' ')
    .trim();

/** The side that a name ends with, and the name without it. A small letter counts only where it stands apart. */
const sideOf = (name: string): { readonly side: NameTold['side']; readonly rest: string } => {
  const match = SIDE.exec(name);
  const told = match?.[1];
  if (!match || told === undefined) return { side: null, rest: name };
  const rest = name.slice(0, match.index);
  const isAttached = match[0] === told;
  const isSide = rest !== '' && (!isAttached || told === 'L' || told === 'R');
  if (!isSide) return { side: null, rest: name };
  return { side: told[0]!.toLowerCase() === 'l' ? 'left' : 'right', rest };
};

/** What a file is, by its name and the folders that it stands in. */
export const fileNameParts = (path: string): NameTold => {
  const bare = baseName(path).replace(/\.[^.]*$/, '');
  const plain = withoutMarks(bare.replace(NUMBER, ''));
  const { side, rest } = sideOf(plain);
  const stem = withoutMarks(rest);
  const words = asWords(plain);
  const name = words === '' ? asWords(bare) || 'Track' : words;
  const folder = path.includes('/') ? baseName(path.slice(0, path.lastIndexOf('/'))) : '';
  const group = familyOf(asWords(stem)) ?? (folder === '' ? null : familyOf(folder));
  const titled = `${name[0]!.toUpperCase()}${name.slice(1)}`.slice(0, 80);
  return { name: titled, group, isSung: isSungByName(asWords(stem)), side, stem: asWords(stem).toLowerCase() };
};

const ROUGH_WORDS =
  /\brough\b|\broughmix\b|\bmix\b|\bmixdown\b|\bmaster\b|\bbounce\b|\b2-?mix\b|\bdemo\b|\bref(?:erence)?\b/i;

/** The words of a file's name, without ending and number. */
const wordsOf = (path: string): string =>
  asWords(
    baseName(path)
      .replace(/\.[^.]*$/, '')
      .replace(NUMBER, ''),
  );

/** Whether a file is called a mix, and by no part of a band. */
export const isCalledMix = (path: string): boolean =>
  ROUGH_WORDS.test(wordsOf(path)) && familyOf(wordsOf(path)) === null;

/** Which of the files is the rough: the first that is called that, else the first that is called a mix; null: none. */
export const roughAmong = (paths: readonly string[]): string | null => {
  const called = paths.find((path) => /rough/i.test(wordsOf(path)));
  return called ?? paths.find(isCalledMix) ?? null;
};

/** Left and right files of one name: places in the list. */
export interface SidePair {
  readonly left: number;
  readonly right: number;
}

/**
 * Files that are the two sides of one sound: one name but for the side, one channel each, one rate and nearly one length.
 */
export const pairsAmong = (
  files: readonly {
    readonly told: NameTold;
    readonly channels: number;
    readonly sampleRate: number;
    readonly seconds: number;
  }[],
): SidePair[] =>
  files.flatMap((left, n) => {
    if (left.told.side !== 'left' || left.channels !== 1) return [];
    const right = files.findIndex(
      (other) =>
        other.told.side === 'right' &&
        other.told.stem === left.told.stem &&
        other.channels === 1 &&
        other.sampleRate === left.sampleRate &&
        Math.abs(other.seconds - left.seconds) < 1,
    );
    return right < 0 ? [] : [{ left: n, right }];
  });
