type Place = Pick<PointerEvent, 'pointerId' | 'clientX' | 'pointerType'> & {
  readonly currentTarget: EventTarget | null;
};

/** Closer than this, fingers no longer zoom, px. */
const LEAST_PX = 20;

/** Two fingers on one element, as a zoom around the middle between them and a movement of that middle. */
export class TwoFingers {
  private readonly places = new Map<number, number>();

  /** @param onMove factor by which they went apart, the middle from the element's left and how far that went, px */
  constructor(private readonly onMove: (factor: number, middle: number, by: number) => void) {}

  /** True: this is the second finger, and what the first began is over. */
  down({ pointerId, clientX, pointerType }: Place): boolean {
    if (pointerType !== 'touch') return false;
    this.places.set(pointerId, clientX);
    return this.places.size === 2;
  }

  /** True while there are two. */
  move({ pointerId, clientX, currentTarget }: Place): boolean {
    if (this.places.size !== 2 || !this.places.has(pointerId)) return false;
    const [a, b] = [...this.places.values()] as [number, number];
    this.places.set(pointerId, clientX);
    const [c, d] = [...this.places.values()] as [number, number];
    const { left } = (currentTarget as Element).getBoundingClientRect();
    const factor = Math.max(LEAST_PX, Math.abs(c - d)) / Math.max(LEAST_PX, Math.abs(a - b));
    this.onMove(factor, (c + d) / 2 - left, (c + d - a - b) / 2);
    return true;
  }

  /** True: there were two. */
  up({ pointerId }: Pick<Place, 'pointerId'>): boolean {
    const wereTwo = this.places.size === 2;
    this.places.delete(pointerId);
    return wereTwo;
  }
}
