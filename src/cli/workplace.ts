import { answerOf, type Job } from '../engine/job.ts';
import { renderThreaded } from './render-threads.ts';
import { Song, type Sounds } from '../engine/song.ts';
import { Workshop } from '../engine/workshop.ts';
import type { SoundRoom } from '../render/store/room.ts';
import { DEFAULT_SET, guardSetByName, guardsInForce, type GuardSet } from '../session/guard-set.ts';
import { described, listed, ProblemError } from '../session/problem.ts';
import type { Section, Session } from '../session/schema.ts';
import type { Console } from './console.ts';
import { requireRenderable } from './memory-limit.ts';
import { framesOfSpan } from './named-span.ts';
import { readSessionFromDisk } from './session-on-disk.ts';
import { soundStore, StoredSounds } from './sound-store.ts';

/** The section of this name; null where none is requested. @throws ProblemError naming the existing ones */
export const sectionNamed = (session: Session, path: string, name: string | undefined): Section | null => {
  if (name === undefined) return null;
  const found = session.sections.find((each) => each.name.toLowerCase() === name.trim().toLowerCase());
  if (found) return found;
  const names = session.sections.map((each) => each.name);
  const expected = names.length > 0 ? listed(names) : `a section, but ${path} has none`;
  throw new ProblemError({ code: 'unknown-name', path: '--section', expected, found: described(name) });
};

/** Options of all commands that work on a session. */
export interface PlaceOptions {
  readonly section?: string;
  readonly guards?: string;
  readonly allowOutside?: true;
}

/** Receives progress and notes. */
type Reporter = Pick<Console, 'progress' | 'note'>;

/** An opened session with its sounds. */
export class Workplace {
  readonly song: Song;

  constructor(
    readonly session: Session,
    private readonly path: string,
    sounds: Sounds,
    room: SoundRoom,
    /** The section to work on; null: the whole song. */
    readonly section: Section | null,
    private readonly limits: GuardSet,
    private readonly console: Reporter,
  ) {
    this.song = new Song(sounds, renderThreaded, (led, planned) => requireRenderable(path, led, planned), room);
  }

  /** Runs a job to its end; on a terminal `what` is shown as progress. */
  answer<Answer, Row>(what: string, job: Job<Answer, Row>): Promise<Answer> {
    return answerOf(job, { onProgress: (part) => this.console.progress(what, part) });
  }

  /**
   * The session rendered, or another mix of the same sounds. `mayFollow`: rendered paths are kept, as similar mixes will be rendered after it.
   * @throws ProblemError when the section begins after the end of the song
   */
  async workshop(mayFollow: boolean, session: Session = this.session): Promise<Workshop> {
    const { song, section, path } = this;
    if (mayFollow) song.keepOnly(song.planned(session).plan);
    const mix = await this.answer('Rendering', song.rendered(session, mayFollow ? 'kept' : 'beside'));
    if (section) framesOfSpan(section, path, mix.plan.sampleRate, mix.plan.soundFrames);
    return new Workshop(song, mix, {}, guardsInForce(session.guards, this.limits));
  }
}

/**
 * Reads a session and the files that it names.
 * @param check further checks of the command, run before any sound is read
 * @throws ProblemError for a file, a section or a set that is not there
 */
export const workplaceOf = async (
  path: string,
  { section, guards: set = DEFAULT_SET, allowOutside }: PlaceOptions,
  console: Reporter,
  check: (session: Session) => Promise<void> | void = () => {},
): Promise<Workplace> => {
  const limits = guardSetByName(set, '--guards');
  const room = soundStore(console.note);
  const { session, sounds } = await readSessionFromDisk(path, {
    room,
    onFile: (file, done) => console.progress(`Reading ${file}`, done),
    check: (parsed) => {
      sectionNamed(parsed, path, section);
      return check(parsed);
    },
    warn: console.note,
    allowOutside: allowOutside === true,
  });
  const stored = new StoredSounds(room, sounds);
  return new Workplace(session, path, stored, room, sectionNamed(session, path, section), limits, console);
};
