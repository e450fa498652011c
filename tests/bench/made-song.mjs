// The song that whole songs are tried on. --minutes, --tracks, --groups and --buses make it another one than the reference song, as
// SONG_SECONDS, SONG_TRACKS, SONG_GROUPS and SONG_BUSES do; SONG_FOLDER names a folder in which it is kept for the next run.
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { bundled } from './bundled.mjs';

const numberFrom = (/** @type {string} */ name, /** @type {number} */ otherwise) =>
  Number(process.env[name] ?? otherwise);
const tracks = numberFrom('SONG_TRACKS', 32);
export const SIZE = {
  seconds: numberFrom('SONG_SECONDS', 240),
  tracks,
  // A group holds at least one track.
  groups: Math.min(tracks, numberFrom('SONG_GROUPS', 12)),
  buses: numberFrom('SONG_BUSES', 14),
};
/** How often memory is looked at, ms. */
export const LOOK_MS = 250;

/** A field of what the system tells of a process, MB; 0: it is gone. @param {number} pid @param {string} file @param {string} field */
export function memoryOf(pid, file, field) {
  try {
    const [, kilobytes] = new RegExp(`${field}:\\s+(\\d+)`).exec(readFileSync(`/proc/${pid}/${file}`, 'utf8')) ?? [];
    return Number(kilobytes ?? 0) / 1024;
  } catch {
    return 0;
  }
}

/** Processor time that a process has taken so far, s; 0: it is gone. @param {number} pid */
export function processorOf(pid) {
  try {
    const fields = readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ')[1]?.split(' ') ?? [];
    // Of the user and of the system, in hundredths of a second (proc(5), fields 14 and 15).
    return (Number(fields[11]) + Number(fields[12])) / 100;
  } catch {
    return 0;
  }
}

/** @param {string} what @param {{ seconds: number, peak: number }} took */
export const tell = (what, { seconds, peak }) =>
  console.log(
    `  ${what.padEnd(44)}${seconds.toFixed(1).padStart(8)} s  ${(seconds / SIZE.seconds).toFixed(2).padStart(6)} of the song  ${peak.toFixed(0).padStart(6)} MB`,
  );

/** @param {string} folder @returns {Promise<string>} path of its session */
async function madeSong(folder) {
  const session = join(folder, 'song', 'session.json');
  if (existsSync(session)) return session;
  /** @type {typeof import('./reference-song.ts')} */
  const maker = await import(await bundled('reference-song', join(folder, 'maker')));
  return maker.writeReferenceSong(join(folder, 'song'), SIZE);
}

/** Does `work` with a song in a folder. @param {(folder: string, session: string) => Promise<void>} work */
export async function withSong(work) {
  const kept = process.env['SONG_FOLDER'];
  if (kept) mkdirSync(kept, { recursive: true });
  const folder = kept ?? mkdtempSync(join(tmpdir(), 'tributary-song-'));
  try {
    const session = await madeSong(folder);
    console.log(`  ${SIZE.seconds} s, ${SIZE.tracks} tracks, ${SIZE.groups} groups, ${SIZE.buses} buses`);
    await work(folder, session);
  } finally {
    if (!kept) rmSync(folder, { recursive: true });
  }
}
