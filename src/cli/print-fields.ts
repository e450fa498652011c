import { MP3_KBPS, type Mp3Kbps } from '../files/mp3-write.ts';
import { PRINT_KINDS, type PrintOrder } from '../files/print-song.ts';
import { WAV_BITS } from '../files/wav-write.ts';
import { listed, ProblemError } from '../session/problem.ts';
import { nameOption, namesOption, numberOption, wholeOption } from './options.ts';

/** Readers of what a print can be told, each under the name that whoever tells it knows it by. */
export const PRINT_FIELDS = {
  bits: (name: string) => nameOption(name, WAV_BITS),
  rate: (name: string) => wholeOption(name, 'Hz', 8000, 192_000),
  kinds: (name: string) => namesOption(name, PRINT_KINDS, new Map([['voices', 'a-cappella']])),
  target: (name: string) => numberOption(name, 'LUFS', -70, 0),
  ceiling: (name: string) => numberOption(name, 'dBTP', -40, 0),
  mp3: (name: string) => (text: string) => Number(nameOption(name, MP3_KBPS.map(String))(text)) as Mp3Kbps,
};

/** The mix in 24 bits, at the session's rate and as loud as it is. */
const PLAIN: PrintOrder = {
  ...{ bits: '24', rate: null, kinds: ['main'], stemsTakeGain: false, mp3Kbps: null },
  ...{ targetLufs: null, ceilingDbtp: null },
};

/** What a script asks of a print, filled up with what is usual. @throws ProblemError naming the field that cannot be followed */
export const printOrderFrom = (asked: Partial<PrintOrder>): PrintOrder => {
  const unknown = Object.keys(asked).find((field) => !(field in PLAIN));
  if (unknown !== undefined) {
    const expected = listed([...Object.keys(PLAIN), 'force']);
    throw new ProblemError({ code: 'unknown-field', path: unknown, expected, found: unknown });
  }
  const order = { ...PLAIN, ...asked };
  const read = (value: number | null, reader: (text: string) => number): number | null =>
    value === null ? null : reader(String(value));
  return {
    bits: PRINT_FIELDS.bits('bits')(order.bits),
    rate: read(order.rate, PRINT_FIELDS.rate('rate')),
    kinds: PRINT_FIELDS.kinds('kinds')(String(order.kinds)),
    stemsTakeGain: order.stemsTakeGain === true,
    mp3Kbps:
      order.mp3Kbps === null || order.mp3Kbps === undefined ? null : PRINT_FIELDS.mp3('mp3Kbps')(String(order.mp3Kbps)),
    targetLufs: read(order.targetLufs, PRINT_FIELDS.target('targetLufs')),
    ceilingDbtp: read(order.ceilingDbtp, PRINT_FIELDS.ceiling('ceilingDbtp')),
  };
};
