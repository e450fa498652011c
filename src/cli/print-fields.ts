import { DELIVERY_TARGETS, type DeliveryTarget } from '../files/print/delivery-targets.ts';
import { FILE_FORMS } from '../files/print/file-form.ts';
import { MP3_KBPS, type Mp3Kbps } from '../files/mp3/mp3-write.ts';
import { LONGEST_SILENCE, PRINT_KINDS, type PrintOrder, type PrintSpan } from '../files/print/print-order.ts';
import { WAV_BITS } from '../files/wav/wav-write.ts';
import { described, listed, ProblemError } from '../session/problem.ts';
import { nameOption, namesOption, numberOption, wholeOption } from './options.ts';
import { secondsFrom } from './section-list.ts';

const lufs = (name: string) => numberOption(name, 'LUFS', -70, 0);
const dbtp = (name: string) => numberOption(name, 'dBTP', -40, 0);

/** "cd=-9/-0.3": a name, LUFS and dBTP; either may be left empty. */
const OWN_TARGET = /^([^=]+)=([^/]*)(?:\/(.*))?$/;

/** A delivery target by name, or written out. @throws ProblemError for any other */
const targetFrom =
  (name: string) =>
  (text: string): DeliveryTarget => {
    const given = text.trim();
    const known = DELIVERY_TARGETS.find((each) => each.name.toLowerCase() === given.toLowerCase());
    if (known) return { name: known.name, targetLufs: known.targetLufs, ceilingDbtp: known.ceilingDbtp };
    const [, called, loudness, peak] = OWN_TARGET.exec(given) ?? [];
    if (called === undefined) {
      const expected = `${listed(DELIVERY_TARGETS.map((each) => each.name))}, or name=LUFS/dBTP as in "club=-9/-0.3"`;
      throw new ProblemError({ code: 'unknown-name', path: name, expected, found: described(text) });
    }
    const read = (value: string | undefined, reader: (text: string) => number): number | null =>
      value === undefined || value.trim() === '' ? null : reader(value);
    return { name: called.trim(), targetLufs: read(loudness, lufs(name)), ceilingDbtp: read(peak, dbtp(name)) };
  };

const SPAN = /^([\d:.]+)-([\d:.]+)$/;

/** "12-24.5" or "0:12-1:04": a part of the song. @throws ProblemError for any other, or an end before the start */
const spanFrom =
  (name: string) =>
  (text: string): PrintSpan => {
    const [, start, end] = SPAN.exec(text.trim()) ?? [];
    const [startSeconds, endSeconds] = [secondsFrom(start), secondsFrom(end)];
    if (endSeconds > startSeconds) return { name: `${startSeconds}-${endSeconds} s`, startSeconds, endSeconds };
    const expected = 'start-end with times in seconds or m:ss, the end after the start';
    throw new ProblemError({ code: 'wrong-type', path: name, expected, found: described(text) });
  };

const idsFrom = (text: string): readonly string[] => [...new Set(text.split(',').map((id) => id.trim()))];

/** Parsers of the print options; each takes the name under which messages refer to the option. */
export const PRINT_FIELDS = {
  bits: (name: string) => nameOption(name, WAV_BITS),
  form: (name: string) => nameOption(name, FILE_FORMS),
  rate: (name: string) => wholeOption(name, 'Hz', 8000, 192_000),
  kinds: (name: string) => namesOption(name, PRINT_KINDS, new Map([['voices', 'a-cappella']])),
  target: lufs,
  ceiling: dbtp,
  targets:
    (name: string) =>
    (text: string): readonly DeliveryTarget[] =>
      text.split(',').map(targetFrom(name)),
  ids: () => idsFrom,
  span: spanFrom,
  silence: (name: string) => numberOption(name, 's', 0, LONGEST_SILENCE),
  dither: (name: string) => nameOption(name, ['white', 'shaped']),
  mp3: (name: string) => (text: string) => Number(nameOption(name, MP3_KBPS.map(String))(text)) as Mp3Kbps,
};

/** The default order: the mix in 24 bits, at the session's rate, without gain. */
export const PLAIN_ORDER = {
  ...{ bits: '24', rate: null, kinds: ['main'], stemsTakeGain: false, mp3Kbps: null, form: 'wav', shaped: false },
  reportSound: false,
  ...{ without: [], pairs: [], stemsThroughMixBus: false, targets: [], pass: null, span: null, headSeconds: 0 },
  ...{ tailSeconds: 0, names: null, targetLufs: null, ceilingDbtp: null },
} as const satisfies PrintOrder;

/** A print order from a script, completed with defaults. @throws ProblemError naming the first invalid field */
export const printOrderFrom = (asked: Partial<PrintOrder>): PrintOrder => {
  const unknown = Object.keys(asked).find((field) => !(field in PLAIN_ORDER));
  if (unknown !== undefined) {
    const expected = listed([...Object.keys(PLAIN_ORDER), 'force']);
    throw new ProblemError({ code: 'unknown-field', path: unknown, expected, found: unknown });
  }
  const order: Required<PrintOrder> = { ...PLAIN_ORDER, ...asked };
  const read = <T>(value: number | null, reader: (text: string) => T): T | null =>
    value === null ? null : reader(String(value));
  const seconds = (field: 'headSeconds' | 'tailSeconds') => PRINT_FIELDS.silence(field)(String(order[field]));
  const target = ({ name, targetLufs, ceilingDbtp }: DeliveryTarget): DeliveryTarget => ({
    name,
    targetLufs: read(targetLufs, lufs('targets')),
    ceilingDbtp: read(ceilingDbtp, dbtp('targets')),
  });
  return {
    ...order,
    bits: PRINT_FIELDS.bits('bits')(order.bits),
    form: PRINT_FIELDS.form('form')(order.form),
    rate: read(order.rate, PRINT_FIELDS.rate('rate')),
    kinds: order.kinds.length === 0 ? [] : PRINT_FIELDS.kinds('kinds')(String(order.kinds)),
    stemsTakeGain: order.stemsTakeGain === true,
    reportSound: order.reportSound === true,
    mp3Kbps: read(order.mp3Kbps, PRINT_FIELDS.mp3('mp3Kbps')),
    targets: order.targets.map(target),
    headSeconds: seconds('headSeconds'),
    tailSeconds: seconds('tailSeconds'),
    targetLufs: read(order.targetLufs, lufs('targetLufs')),
    ceilingDbtp: read(order.ceilingDbtp, dbtp('ceilingDbtp')),
  };
};
