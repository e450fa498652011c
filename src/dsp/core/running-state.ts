/** A view of samples: type, place and length in a buffer of the state. */
interface SamplesNode {
  readonly kind: 'samples';
  readonly type: string;
  readonly buffer: number;
  readonly byteOffset: number;
  readonly length: number;
}

/** Fields of an object, or items of a list. */
interface FieldsNode {
  readonly kind: 'fields';
  /** Kind of object to make: a list, an object without a class, or an object whose class the target knows. */
  readonly made: 'list' | 'plain' | 'of a class';
  readonly fields: readonly (readonly [name: string, slot: Slot])[];
}

type StateNode = SamplesNode | FieldsNode;

/** A plain value, or the number of a node. */
type Slot = { readonly value: number | string | boolean | bigint | null | undefined } | { readonly node: number };

/**
 * The complete state of a running strip, chain or kernel, as plain data: it can be stored, and sent to another thread. Objects are nodes
 * that refer to each other by number, so that shared objects stay shared; node 0 is the root.
 */
export interface RunningState {
  readonly nodes: readonly StateNode[];
  readonly buffers: readonly ArrayBuffer[];
}

type Samples =
  | Float64Array
  | Float32Array
  | Int32Array
  | Uint32Array
  | Uint16Array
  | Uint8Array
  | Int16Array
  | Int8Array;
type Fields = Record<string, unknown>;

const samplesTypes = [
  Float64Array,
  Float32Array,
  Int32Array,
  Uint32Array,
  Uint16Array,
  Uint8Array,
  Int16Array,
  Int8Array,
];
const constructors = new Map<string, new (buffer: ArrayBuffer, byteOffset: number, length: number) => Samples>(
  samplesTypes.map((type) => [type.name, type]),
);

const isObject = (value: unknown): value is object => typeof value === 'object' && value !== null;
const isSamples = (value: object): value is Samples => constructors.has(value.constructor?.name);

/** @throws Error where an object keeps something that is neither fields nor samples, and so would be lost */
const requireFields = (value: object): void => {
  if (value instanceof Map || value instanceof Set || ArrayBuffer.isView(value))
    throw new Error(
      `${value.constructor.name}: a running state holds numbers, texts, samples, lists and objects only.`,
    );
};

const madeAs = (value: object): FieldsNode['made'] => {
  if (Array.isArray(value)) return 'list';
  return Object.getPrototypeOf(value) === Object.prototype ? 'plain' : 'of a class';
};

/** Collects the nodes of an object graph, each once, in the order of traversal. */
class Collector {
  readonly nodes: StateNode[] = [];
  readonly buffers: ArrayBuffer[] = [];
  private readonly numbers = new Map<object, number>();
  private readonly bufferNumbers = new Map<ArrayBufferLike, number>();

  slotOf(value: unknown): Slot | null {
    if (typeof value === 'function' || typeof value === 'symbol') return null;
    if (!isObject(value)) return { value: value as Extract<Slot, { value: unknown }>['value'] };
    return { node: this.numbers.get(value) ?? this.collect(value) };
  }

  private collect(value: object): number {
    const number = this.nodes.length;
    this.numbers.set(value, number);
    if (isSamples(value)) {
      const { byteOffset, length, constructor } = value;
      this.nodes.push({
        ...{ kind: 'samples', type: constructor.name, buffer: this.bufferOf(value.buffer), byteOffset, length },
      });
      return number;
    }
    requireFields(value);
    const fields: [string, Slot][] = [];
    this.nodes.push({ kind: 'fields', made: madeAs(value), fields });
    for (const [name, inside] of Object.entries(value)) {
      const slot = this.slotOf(inside);
      if (slot) fields.push([name, slot]);
    }
    return number;
  }

  private bufferOf(buffer: ArrayBufferLike): number {
    const known = this.bufferNumbers.get(buffer);
    if (known !== undefined) return known;
    this.bufferNumbers.set(buffer, this.buffers.length);
    return this.buffers.push(buffer.slice(0) as ArrayBuffer) - 1;
  }
}

/** Names of the fields that a state keeps of an object: they identify a class, as bundlers rename classes. */
const shapeOf = (names: readonly string[]): string => names.join();
const namesOf = (value: object): string[] =>
  Object.entries(value).flatMap(([name, inside]) => (typeof inside === 'function' ? [] : [name]));

/** Prototypes of all reachable objects, by their field names. */
const prototypesIn = (root: object): ReadonlyMap<string, object> => {
  const found = new Map<string, object>();
  const seen = new Set<unknown>([root]);
  for (const value of seen) {
    if (!isObject(value) || isSamples(value)) continue;
    if (!Array.isArray(value)) found.set(shapeOf(namesOf(value)), Object.getPrototypeOf(value) as object);
    for (const inside of Object.values(value)) seen.add(inside);
  }
  return found;
};

const areEqual = (a: ArrayBuffer, b: ArrayBuffer): boolean => {
  if (a.byteLength !== b.byteLength) return false;
  const Words = a.byteLength % 4 === 0 ? Int32Array : Uint8Array;
  const [one, other] = [new Words(a), new Words(b)];
  for (let n = 0; n < one.length; n++) if (one[n] !== other[n]) return false;
  return true;
};

/** Puts a state into an object graph of the same kind. */
class Restorer {
  private readonly made = new Map<number, object>();
  private readonly buffers = new Map<number, ArrayBuffer>();
  /** Objects of the target that represent each node. */
  private readonly taken = new Set<object>();
  private readonly prototypes: ReadonlyMap<string, object>;

  constructor(
    private readonly state: RunningState,
    target: object,
  ) {
    this.prototypes = prototypesIn(target);
  }

  /** The value for a slot: if possible `counterpart`, which the target has there. */
  valueOf(slot: Slot, counterpart: unknown): unknown {
    if ('value' in slot) return slot.value;
    return this.made.get(slot.node) ?? this.make(slot.node, counterpart);
  }

  private make(number: number, counterpart: unknown): object {
    const node = this.state.nodes[number]!;
    if (node.kind === 'samples') return this.makeSamples(number, node, counterpart);
    const like = isObject(counterpart) && !isSamples(counterpart) ? counterpart : null;
    const target = this.targetFor(node, like) as Fields;
    this.made.set(number, target);
    for (const [name, slot] of node.fields) {
      const before = (like as Fields | null)?.[name];
      const value = this.valueOf(slot, before);
      if (target[name] !== value) target[name] = value;
    }
    return target;
  }

  /**
   * The object for a node: where it can, the counterpart of its class, so that the machine code for it stays good. Lists and plain
   * objects may be constants that others use too, so they are made anew.
   */
  private targetFor({ fields, made }: FieldsNode, like: object | null): object {
    if (made === 'list') return [];
    if (made === 'plain') return {};
    const names = fields.map(([name]) => name);
    const isOfClass = like !== null && madeAs(like) === 'of a class';
    if (isOfClass && !this.taken.has(like)) {
      this.taken.add(like);
      return like;
    }
    const prototype = isOfClass ? (Object.getPrototypeOf(like) as object) : this.prototypes.get(shapeOf(names));
    if (!prototype) throw new Error(`a state cannot be taken over: nothing has the fields ${names.join(', ')}.`);
    // Functions are not part of a state: those of the target are kept.
    return Object.assign(Object.create(prototype) as object, like);
  }

  private makeSamples(number: number, node: SamplesNode, counterpart: unknown): Samples {
    const like = isObject(counterpart) && isSamples(counterpart) ? counterpart : null;
    const buffer = this.bufferFor(node.buffer, like?.buffer);
    const { type, byteOffset, length } = node;
    const isAlike = like?.buffer === buffer && like.byteOffset === byteOffset && like.length === length;
    const samples =
      isAlike && like.constructor.name === type ? like : new (constructors.get(type)!)(buffer, byteOffset, length);
    this.made.set(number, samples);
    return samples;
  }

  /** The buffer for one of the state: that of the counterpart where it holds the same, as constants do, which may be shared. */
  private bufferFor(number: number, like: ArrayBufferLike | undefined): ArrayBuffer {
    const known = this.buffers.get(number);
    if (known) return known;
    const saved = this.state.buffers[number]!;
    const isSame = like instanceof ArrayBuffer && !this.taken.has(like) && areEqual(like, saved);
    const buffer = isSame ? like : saved.slice(0);
    if (isSame) this.taken.add(like);
    this.buffers.set(number, buffer);
    return buffer;
  }
}

/**
 * The state of a running object (strip, chain, kernel): its fields, and all that they reach. It is a copy, which later processing does not change.
 * @throws Error where something is kept that is not plain data
 */
export const stateOf = (running: object): RunningState => {
  const collector = new Collector();
  collector.slotOf(running);
  return { nodes: collector.nodes, buffers: collector.buffers };
};

/** Restores a state into `fresh`, which was built in the same way, so that it continues bit for bit. The state is not changed. */
export const restoreState = (fresh: object, state: RunningState): void => {
  new Restorer(state, fresh).valueOf({ node: 0 }, fresh);
};

/** Bytes of samples in a state. */
export const stateBytes = ({ buffers }: RunningState): number =>
  buffers.reduce((sum, { byteLength }) => sum + byteLength, 0);
