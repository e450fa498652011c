import type { Section } from '../../session/schema.ts';
import { clock } from '../shared/format.ts';

/** Which stretch figures are of. */
export const stretchWords = (section: Section | null): string =>
  section ? `${section.name}, ${clock(section.startSeconds)}–${clock(section.endSeconds)}` : 'the whole song';
