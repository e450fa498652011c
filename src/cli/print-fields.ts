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
};

/** The mix in 24 bits, at the session's rate and as loud as it is. */
const PLAIN: PrintOrder = {
  ...{ bits: '24', rate: null, kinds: ['main'], stemsTakeGain: false },
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
    targetLufs: read(order.targetLufs, PRINT_FIELDS.target('targetLufs')),
    ceilingDbtp: read(order.ceilingDbtp, PRINT_FIELDS.ceiling('ceilingDbtp')),
  };
};
