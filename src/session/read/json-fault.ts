/** Where a text stops being JSON: line and column, counted from 1, and what stands there. */
export interface JsonFault {
  readonly line: number;
  readonly column: number;
  readonly found: string;
}

const BLANK = /[ \t\n\r]*/y;
const SIGN = /[[\]{},:]/y;
/** Any sign from the blank on but the quote and the backslash, or an escape. */
const STRING = /"(?:[ -!#-[\]-\u{10ffff}]|\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4}))*"/uy;
const PLAIN = /(?:-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?|true|false|null)(?![\w.+-])/y;
/** What is shown of a place that is not JSON: a word or a number as a whole, else one sign. */
const SHOWN = /[\w.+-]{1,40}|./suy;

type State = 'value' | 'first item' | 'first key' | 'key' | 'colon' | 'after value';

/** Follows the JSON grammar (RFC 8259) token by token. */
class Reader {
  private at = 0;
  private state: State = 'value';
  private readonly open: ('[' | '{')[] = [];

  constructor(private readonly text: string) {}

  private take(pattern: RegExp): string | null {
    pattern.lastIndex = this.at;
    const match = pattern.exec(this.text);
    if (match) this.at = pattern.lastIndex;
    return match && match[0];
  }

  /** Goes to the first place that is not JSON; null: all of it is. */
  fault(): number | null {
    for (;;) {
      this.take(BLANK);
      const start = this.at;
      if (this.state === 'after value' && this.open.length === 0) return start === this.text.length ? null : start;
      if (!this.step()) return start;
    }
  }

  private step(): boolean {
    const sign = this.take(SIGN);
    if (sign !== null) return this.sign(sign);
    if (this.state === 'key' || this.state === 'first key') return this.take(STRING) !== null && this.go('colon');
    if (this.state !== 'value' && this.state !== 'first item') return false;
    return (this.take(STRING) ?? this.take(PLAIN)) !== null && this.go('after value');
  }

  private sign(sign: string): boolean {
    const { state } = this;
    const inside = this.open.at(-1);
    if (sign === '[' || sign === '{') {
      if (state !== 'value' && state !== 'first item') return false;
      this.open.push(sign);
      return this.go(sign === '[' ? 'first item' : 'first key');
    }
    if (sign === ':') return state === 'colon' && this.go('value');
    if (sign === ',') return state === 'after value' && this.go(inside === '{' ? 'key' : 'value');
    const closes = sign === ']' ? inside === '[' : inside === '{';
    const empty = state === (sign === ']' ? 'first item' : 'first key');
    if (!closes || !(empty || state === 'after value')) return false;
    this.open.pop();
    return this.go('after value');
  }

  private go(state: State): true {
    this.state = state;
    return true;
  }
}

const printable = (shown: string): string => {
  const code = shown.codePointAt(0)!.toString(16).toUpperCase().padStart(4, '0');
  return /\p{C}/u.test(shown) ? `the character U+${code}` : shown;
};

/** The first place at which `text` is not JSON; null when it is JSON. */
export const jsonFault = (text: string): JsonFault | null => {
  const at = new Reader(text).fault();
  if (at === null) return null;
  const lines = text.slice(0, at).split(/\r\n|\n|\r/);
  SHOWN.lastIndex = at;
  const shown = SHOWN.exec(text);
  const found = shown ? printable(shown[0]) : 'the end of the text';
  return { line: lines.length, column: lines.at(-1)!.length + 1, found };
};
