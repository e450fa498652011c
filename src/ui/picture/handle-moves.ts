import type { NumberParameter, Parameter, Parameters, Setting, Settings } from '../../dsp/core/parameter.ts';
import type { HandleAxis, PictureHandle } from '../../dsp/core/picture-handle.ts';
import { COMMON_NOTE_VALUES, noteMs, parseNoteValue } from '../../session/note-values.ts';
import type { Session } from '../../session/schema.ts';
import { plain } from '../shared/format.ts';
import { settled, stepValue, type StepSize } from '../workbench/parameter-scale.ts';
import { scalesFor, type Frame, type Ranges } from '../../files/page/picture-geometry.ts';

/** A processor as its handles see it. */
export interface Held {
  readonly parameters: Parameters;
  readonly settingOf: (parameter: string) => Setting;
  /** The numbers that the settings come to. */
  readonly values: Readonly<Record<string, number>>;
  readonly song: Pick<Session, 'tempo' | 'meter'>;
}

/** Pixels of the picture. */
export type Pixels = readonly [across: number, up: number];

const msOf = (note: string, { tempo, meter }: Held['song']): number => noteMs(parseNoteValue(note)!, tempo, meter);

/** The note value nearest to a time, ms. */
const nearestNote = (ms: number, song: Held['song']): string => {
  const away = (note: string): number => Math.abs(Math.log(msOf(note, song) / Math.max(1, ms)));
  return COMMON_NOTE_VALUES.toSorted((a, b) => away(a) - away(b))[0]!;
};

/** A setting for a number: what is a note value stays one. */
const settingFor = (held: Held, id: string, value: number): Setting =>
  typeof held.settingOf(id) === 'string'
    ? nearestNote(value, held.song)
    : settled(held.parameters[id] as NumberParameter, value);

/** Where in a picture's numbers a pixel is; beyond the frame the scales go on. */
export const placeAt = (picture: Ranges, frame: Frame, [across, up]: Pixels): readonly [x: number, y: number] => {
  const { x, y } = scalesFor(picture, frame);
  return [x.copy().clamp(false).invert(across), y.copy().clamp(false).invert(up)];
};

/** Middle of the widest gap between handles, or between one and an edge of the frame, px across: where a new one has most room. */
export const freePlace = (
  across: readonly number[],
  { left, width, right }: Pick<Frame, 'left' | 'width' | 'right'>,
): number => {
  const [from, to] = [left, width - right];
  const edges = [from, ...across.filter((x) => x > from && x < to).toSorted((a, b) => a - b), to];
  const gaps = edges.slice(1).map((edge, n) => [edges[n]!, edge] as const);
  const [a, b] = gaps.toSorted((one, other) => other[1] - other[0] - (one[1] - one[0]))[0]!;
  return (a + b) / 2;
};

/** The settings of a handle that was taken where it stood and moved by so many pixels. */
export const movedBy = (
  held: Held,
  handle: PictureHandle,
  picture: Ranges,
  frame: Frame,
  [across, up]: Pixels,
): Settings => {
  const { x, y } = scalesFor(picture, frame);
  // Where it is drawn: one that stands outside the picture is taken at its edge.
  const from = [x(handle.x), y(handle.y)] as const;
  const [toX, toY] = placeAt(picture, frame, [from[0] + across, from[1] + up]);
  const along = (axis: HandleAxis | undefined, moved: number, place: number): Settings =>
    axis && moved !== 0 ? { [axis.parameter]: settingFor(held, axis.parameter, axis.at(place)) } : {};
  return { ...along(handle.across, across, toX), ...along(handle.up, up, toY) };
};

/** Settings for a new handle, to the digits that are shown. */
export const settledAll = (parameters: Parameters, settings: Settings): Settings =>
  Object.fromEntries(
    Object.entries(settings).map(([id, setting]) => {
      const parameter = parameters[id]!;
      return [id, parameter.kind === 'number' && typeof setting === 'number' ? settled(parameter, setting) : setting];
    }),
  );

const nextOf = <T>(list: readonly T[], now: T, direction: 1 | -1): T =>
  list[Math.min(list.length - 1, Math.max(0, list.indexOf(now) + direction))]!;

/** One step of a parameter, by key or wheel: of a choice or note value to its neighbour. */
export const stepped = (held: Held, id: string, direction: 1 | -1, size: StepSize): Settings => {
  const parameter = held.parameters[id]!;
  const setting = held.settingOf(id);
  if (parameter.kind === 'switch') return {};
  if (parameter.kind === 'choice') return { [id]: nextOf(parameter.choices, String(setting), direction) };
  if (typeof setting === 'string')
    return { [id]: nextOf(COMMON_NOTE_VALUES, nearestNote(held.values[id]!, held.song), direction) };
  return { [id]: stepValue(parameter, held.values[id]!, direction, size) };
};

/** What two fingers set that are so many times as far apart as when their parameter had this value. */
export const pinched = (held: Held, { pinch }: PictureHandle, value: number, times: number): Settings =>
  pinch === undefined ? {} : { [pinch]: settingFor(held, pinch, value / times) };

const ARROWS: Readonly<Record<string, readonly ['across' | 'up', 1 | -1]>> = {
  ArrowLeft: ['across', -1],
  ArrowRight: ['across', 1],
  ArrowDown: ['up', -1],
  ArrowUp: ['up', 1],
};

/** The least or the most of what a handle stands for. */
const endOf = (held: Held, id: string, isMost: boolean): Settings => {
  const parameter = held.parameters[id]!;
  if (parameter.kind !== 'number') return {};
  if (typeof held.settingOf(id) === 'string') return { [id]: COMMON_NOTE_VALUES.at(isMost ? -1 : 0)! };
  return { [id]: isMost ? parameter.max : parameter.min };
};

/**
 * What a key sets: arrows move it (with Shift ten times as far), Page Up and Down are its wheel, or a tenth of the way where it has
 * none, Home and End the least and the most of what it stands for; null: no key of its.
 */
export const keyed = (held: Held, handle: PictureHandle, key: string, shift: boolean): Settings | null => {
  const [way, direction] = ARROWS[key] ?? [];
  const size = shift ? 'large' : 'plain';
  if (way !== undefined && direction !== undefined) {
    const axis = handle[way] ?? handle.across ?? handle.up;
    return axis ? stepped(held, axis.parameter, direction, size) : null;
  }
  const main = parametersOf(handle)[0]!;
  if (key === 'PageUp' || key === 'PageDown') {
    const direction = key === 'PageUp' ? 1 : -1;
    return handle.wheel === undefined
      ? stepped(held, main, direction, 'page')
      : stepped(held, handle.wheel, direction, 'large');
  }
  if (key === 'Home' || key === 'End') return endOf(held, main, key === 'End');
  if (key === 'Enter') return resetOf(held.parameters, handle);
  return key === 'Delete' ? (handle.remove ?? null) : null;
};

/** Its parameters, the one that it stands for first. */
export const parametersOf = ({ across, up, wheel }: PictureHandle): string[] =>
  [across?.parameter, up?.parameter, wheel].filter((id) => id !== undefined);

/** Back to the defaults: what is moved across only where nothing is moved up, so that a band keeps its frequency. */
export const resetOf = (parameters: Parameters, { across, up, wheel }: PictureHandle): Settings =>
  Object.fromEntries(
    [(up ?? across)?.parameter, wheel]
      .filter((id) => id !== undefined)
      .map((id) => [id, parameters[id]!.default] as const),
  );

const valueText = (parameter: Parameter, setting: Setting): string => {
  if (parameter.kind !== 'number' || typeof setting !== 'number') return String(setting);
  const { unit, digits } = parameter;
  return `${plain(setting, digits)}${unit === ':1' ? ' : 1' : unit === '' ? '' : ` ${unit}`}`;
};

/** Its numbers in words: "Frequency 250 Hz, Gain −2.0 dB, Q 1.00". */
export const handleText = ({ parameters, settingOf }: Held, handle: PictureHandle): string =>
  parametersOf(handle)
    .map((id) => `${parameters[id]!.label} ${valueText(parameters[id]!, settingOf(id))}`)
    .join(', ');

/** What an undo of a move of it is called: its one parameter, or the handle as a whole. */
export const moveLabel = ({ parameters }: Held, handle: PictureHandle, moved: Settings): string => {
  const ids = parametersOf(handle);
  const [id] = Object.keys(moved);
  return ids.length === 1 && id !== undefined ? parameters[id]!.label.toLowerCase() : handle.label.toLowerCase();
};
