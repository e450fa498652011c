import fc from 'fast-check';
import { commands } from 'vitest/browser';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { sessionText } from '../../../src/session/read/serialize.ts';
import type { Session } from '../../../src/session/schema.ts';
import { Bench } from '../../../src/ui/bench/bench.svelte.ts';
import { BenchEngine } from '../../../src/engine/bench-engine.ts';
import type { AudioFiles } from '../../../src/engine/engine.ts';
import type { StretchLedger } from '../../../src/engine/questions.ts';
import { make, sequences, type Move } from './moves.ts';
import { lawSong, lawSongFiles } from './song.ts';
import { differences, FreshEngines, settled, toldBy } from './told.ts';

declare module 'vitest/browser' {
  interface BrowserCommands {
    keepFiles: (files: readonly (readonly [name: string, content: string])[]) => Promise<void>;
    commandLine: (command: string, file: string) => Promise<{ code: number; out: string; err: string }>;
  }
}

const inBase64 = (bytes: Uint8Array): string => {
  let text = '';
  for (const byte of bytes) text += String.fromCharCode(byte);
  return btoa(text);
};

let files: AudioFiles;
const engine = new BenchEngine();
const bench = new Bench(engine);
const fresh = new FreshEngines();

beforeAll(async () => {
  const song = lawSongFiles();
  files = new Map([...song].map(([path, bytes]) => [path, new Blob([bytes])]));
  await commands.keepFiles([...song].map(([path, bytes]) => [path, inBase64(bytes)] as const));
});
afterAll(() => {
  bench.dispose();
  fresh.dispose();
});

const begin = async (): Promise<void> => {
  const song = lawSong();
  await engine.open(song, files);
  bench.take(song, true);
  await settled(engine, 'the song');
};

/** What the command line says of a session; its own sentence where it refuses. */
const saidOf = async (session: Session, command: string): Promise<Record<string, unknown> | string> => {
  await commands.keepFiles([['session.json', inBase64(new TextEncoder().encode(sessionText(session)))]]);
  const { code, out, err } = await commands.commandLine(command, 'session.json');
  return code === 2 ? err : (JSON.parse(out) as Record<string, unknown>);
};

/** Of `told`, what `said` speaks of too. */
const shared = (told: unknown, said: unknown): unknown => {
  if (Array.isArray(told) && Array.isArray(said)) return told.map((each, n) => shared(each, said[n]));
  if (told === null || said === null || typeof told !== 'object' || typeof said !== 'object') return told;
  return Object.fromEntries(
    Object.keys(said).flatMap((key) => (key in told ? [[key, shared(told[key as never], said[key as never])]] : [])),
  );
};

const without = (rows: unknown, fields: readonly string[]): unknown[] =>
  (rows as object[]).map((row) => Object.fromEntries(Object.entries(row).filter(([field]) => !fields.includes(field))));

/** Where the command line says something else of the session than the engine tells. */
const besideCommandLine = async (session: Session, told: Record<string, unknown>): Promise<string[]> => {
  const [ledger, check] = [await saidOf(session, 'ledger'), await saidOf(session, 'check')];
  const { mix, rough, guards } = engine.view.findings;
  if (typeof ledger === 'string' || typeof check === 'string') {
    if (typeof told['ledger'] === 'string') return [];
    const refusal = [ledger, check].filter((said) => typeof said === 'string').join(' ');
    return [`it says "${refusal}", the app has a ledger`];
  }
  const answer = told['ledger'] as StretchLedger;
  const own = { ...answer, printed: mix, ...(rough ? { rough } : {}), guards };
  // What stands in the session itself is not told by the engine.
  const its = {
    ...ledger,
    paths: without(ledger['paths'], ['name', 'kind', 'on', 'blendDb']),
    guards: without(check['guards'], ['source', 'stage']),
  };
  return differences(shared(own, its), its);
};

const faultsNow = async (): Promise<string[]> => {
  await settled(engine, 'what was edited');
  const session = bench.session!;
  const told = await toldBy(engine);
  const [afresh, faults] = await Promise.all([fresh.told(session, files), besideCommandLine(session, told)]);
  return [
    ...differences(told, afresh).map((each) => `opened afresh: ${each}`),
    ...faults.map((each) => `command line: ${each}`),
  ];
};

const inWords = ({ does, n, m, db, rests }: Move): string => `${does} (${n} ${m} ${db})${rests ? ', rest' : ''}`;

/** Does the moves one after the other. Says where what is told at the end (`each`: after every move) is not what it should be. */
const faultsAfter = async (moves: readonly Move[], each: boolean): Promise<string[]> => {
  await begin();
  for (const move of moves) {
    make(bench, move);
    if (move.rests) await settled(engine, 'a move');
    const faults = each && move.rests ? await faultsNow() : [];
    if (faults.length > 0) return [`after ${inWords(move)}`, ...faults];
  }
  return faultsNow();
};

const moved = (does: string, n = 0, m = 0, db = 0): Move => ({ does, n, m, db, rests: true });

/** What was met in the app once: an empty bus, a tail that is closed, blends that are heard and dropped. */
const MET: [Move[]][] = [
  [[moved('add a bus'), moved('feed', 0, 3)]],
  [[moved('close', 2)]],
  [[moved('hear other blends', 0, 0, 2), moved('discard them'), moved('add a processor', 1)]],
];

const RUNS = Number(import.meta.env['VITE_LAW_RUNS'] ?? 1);
const EACH = import.meta.env['VITE_LAW_EACH'] !== undefined;
const SEED = import.meta.env['VITE_LAW_SEED'] as string | undefined;

it(
  'whatever was done, the app tells what a fresh opening and the command line tell',
  { timeout: 3_600_000 },
  async () => {
    await fc.assert(
      fc.asyncProperty(sequences(8), async (moves) => {
        const faults = await faultsAfter(moves, EACH);
        if (faults.length > 0) console.log(`${moves.map(inWords).join('; ')}\n  ${faults.slice(0, 6).join('\n  ')}`);
        expect(faults.slice(0, 20)).toEqual([]);
      }),
      { numRuns: MET.length + RUNS, examples: MET, ...(SEED === undefined ? {} : { seed: Number(SEED) }) },
    );
  },
);
