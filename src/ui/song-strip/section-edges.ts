import type { Section } from '../../session/schema.ts';

/** A bound of a section that can be dragged; two sections that meet there keep to each other. */
export interface SectionEdge {
  /** Place of the section in the list. */
  readonly section: number;
  readonly side: 'startSeconds' | 'endSeconds';
  /** s */
  readonly at: number;
  /** "Start of Verse", "End of Verse", "Verse to Chorus". */
  readonly name: string;
  /** Between the other bounds around it, s. */
  readonly least: number;
  readonly most: number;
}

/** Bounds nearer than this are one, s. */
const SAME = 1e-6;
/** The shortest section, s. */
const LEAST = 0.05;

/** All bounds in order, each once; `seconds`: length of the song. */
export const sectionEdges = (sections: readonly Section[], seconds: number): SectionEdge[] => {
  const places = sections
    .flatMap(({ startSeconds, endSeconds }) => [startSeconds, endSeconds])
    .toSorted((a, b) => a - b);
  const around = (at: number): Pick<SectionEdge, 'least' | 'most'> => ({
    least: places.findLast((each) => each < at - SAME) ?? -LEAST,
    most: places.find((each) => each > at + SAME) ?? Math.max(seconds, at) + LEAST,
  });
  const edges = sections.flatMap(({ name, startSeconds, endSeconds }, section): SectionEdge[] => {
    const next = sections.find((each) => Math.abs(each.startSeconds - endSeconds) < SAME);
    const meets = sections.some((each) => Math.abs(each.endSeconds - startSeconds) < SAME);
    const end: SectionEdge = {
      section,
      side: 'endSeconds',
      at: endSeconds,
      name: next ? `${name} to ${next.name}` : `End of ${name}`,
      ...around(endSeconds),
    };
    if (meets) return [end];
    return [
      { section, side: 'startSeconds', at: startSeconds, name: `Start of ${name}`, ...around(startSeconds) },
      end,
    ];
  });
  return edges.toSorted((a, b) => a.at - b.at);
};

/** The nearest time an edge can be moved to, s: no section becomes shorter than LEAST. */
export const keptWithin = ({ least, most }: Pick<SectionEdge, 'least' | 'most'>, at: number): number =>
  Math.min(most - LEAST, Math.max(least + LEAST, at));
