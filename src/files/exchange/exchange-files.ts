import type { Session } from '../../session/schema.ts';
import { csvLists } from './csv-lists.ts';
import { midiFile } from './midi-file.ts';

/** A session in open formats that other programs read: tables, and a MIDI file with tempo map and sections. */
export const exchangeFiles = (
  session: Session,
): { readonly name: string; readonly content: string | Uint8Array<ArrayBuffer> }[] => [
  ...csvLists(session),
  { name: 'tempo and sections.mid', content: midiFile(session) },
];
