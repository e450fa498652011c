import type { Parameter, Setting } from '../../dsp/core/parameter.ts';
import { controlOf, isControl, itemOfTarget, stillness, targetsOf, targetText } from '../../session/lines/controls.ts';
import { setFrom } from '../../session/lines/line-edits.ts';
import type { LineTarget } from '../../session/lines/line-schema.ts';
import { writtenOver, type Sample } from '../../session/lines/written.ts';
import type { ProcessorItem, Session } from '../../session/schema.ts';

interface Moved {
  readonly target: LineTarget;
  readonly setting: Setting;
}

/** What is being written: the moves of one gesture. */
interface Take {
  readonly gesture: string;
  readonly label: string;
  /** The session as it was before the moves that are not written yet. */
  readonly base: Session;
  readonly moves: readonly { readonly target: LineTarget; readonly samples: readonly Sample[] }[];
}

/** A session with what was written, as the last of the gesture's moves. */
interface Written {
  readonly session: Session;
  readonly label: string;
  readonly gesture: string;
  readonly target: LineTarget;
}

const settingIn = (session: Session, target: LineTarget): Setting | undefined => {
  const control = controlOf(session, target);
  return isControl(control) ? control.setting : undefined;
};

/** A note value moves with the tempo, and not with a line. */
const isNoteValue = ({ kind }: Parameter, setting: Setting): boolean =>
  kind === 'number' && typeof setting === 'string';

const canBeWritten = (session: Session, { target, setting }: Moved): boolean => {
  const control = controlOf(session, target);
  if (!isControl(control) || isNoteValue(control.parameter, setting)) return false;
  const item = itemOfTarget(session, target);
  return (
    target.what !== 'parameter' || stillness(item as ProcessorItem, target.parameter!, session.sampleRate) === null
  );
};

const withoutLinesOf = (session: Session, moved: readonly Moved[]): Session => {
  const texts = new Set(moved.map(({ target }) => targetText(target)));
  return { ...session, lines: session.lines.filter(({ target }) => !texts.has(targetText(target))) };
};

/**
 * Writes lines by moving controls: of a path that is armed, whatever is moved while the song plays becomes a line. While a control is held
 * it is heard as it stands; when it is let go, its moves stand on the line, and after them the line goes on as before. What is set at once,
 * such as a switch, holds until the next point.
 */
export class Writing {
  readonly #position: () => number;
  #armed = $state.raw<readonly string[]>([]);
  #take: Take | null = null;

  /** `position`: where playing is, seconds. */
  constructor(position: () => number) {
    this.#position = position;
  }

  isArmed(path: string): boolean {
    return this.#armed.includes(path);
  }

  arm(path: string, on: boolean): void {
    this.#armed = [...this.#armed.filter((id) => id !== path), ...(on ? [path] : [])];
  }

  clear(): void {
    this.#armed = [];
    this.#take = null;
  }

  /** Whether moves of another gesture than this are being written. */
  isAnother(gesture: string | null): boolean {
    return this.#take !== null && this.#take.gesture !== gesture;
  }

  /** An edit was made while the song plays: what of it stands until its gesture ends. `before`, `after`: the session without and with it. */
  moved(before: Session, after: Session, label: string, gesture: string | null): Session {
    const moved = this.#armed
      .flatMap((of) => targetsOf(after, of))
      .map((target) => ({ target, setting: settingIn(after, target) }))
      .filter((each): each is Moved => {
        const was = settingIn(before, each.target);
        return each.setting !== undefined && was !== undefined && was !== each.setting;
      })
      .filter((each) => canBeWritten(after, each));
    if (moved.length === 0) return after;
    const seconds = this.#position();
    if (gesture === null) return this.#set(before, moved, seconds);
    const take = this.#takeAt(seconds) ?? { gesture, label, base: before, moves: [] };
    const others = take.moves.filter(
      ({ target }) => !moved.some((each) => targetText(each.target) === targetText(target)),
    );
    const moves = moved.map(({ target, setting }) => {
      const samples = take.moves.find((each) => targetText(each.target) === targetText(target))?.samples ?? [];
      return { target, samples: [...samples, { seconds, value: setting }] };
    });
    this.#take = { ...take, moves: [...others, ...moves] };
    return withoutLinesOf(after, moved);
  }

  /** The gesture has ended: the session with its line; null: nothing was written. */
  finish(): Written | null {
    if (!this.#take) return null;
    const take = this.#takeAt(this.#position())!;
    this.#take = null;
    const { label, gesture, moves } = take;
    return { session: written(take, this.#position()), label, gesture, target: moves.at(-1)!.target };
  }

  #set(before: Session, moved: readonly Moved[], seconds: number): Session {
    return moved.reduce((session, { target, setting }) => setFrom(session, target, seconds, setting), before);
  }

  /** What is written so far; where the song has gone back since, as in a loop, the first round stands on the line. */
  #takeAt(seconds: number): Take | null {
    const take = this.#take;
    const last = take?.moves.flatMap(({ samples }) => samples.map((sample) => sample.seconds)) ?? [];
    if (!take || seconds >= Math.max(...last)) return take;
    const base = written(take, Math.max(...last));
    const moves = take.moves.map(({ target, samples }) => ({
      ...{ target, samples: [{ seconds, value: samples.at(-1)!.value }] },
    }));
    return { ...take, base, moves };
  }
}

const written = ({ base, moves }: Take, endSeconds: number): Session =>
  moves.reduce((session, { target, samples }) => writtenOver(session, target, samples, endSeconds), base);
