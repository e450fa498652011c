import { defineProcessor, type Processor } from '../core/processor.ts';
import { type Mixed, wetEffect } from '../core/wet-effect.ts';
import { Mixer } from '../core/mixer.ts';
import type { Parameter, Values } from '../core/parameter.ts';
import { voiceArrival, voiceLevel, voiceStems, voiceTail } from './voice-figures.ts';
import { VoiceBank, type VoiceMotion, type VoiceSettings } from './voice-bank.ts';

const PICTURE_FLOOR_DB = -36;

type VoiceParameters = Mixed & Readonly<Record<'delay', Parameter>>;

/** A processor that is a voice bank: what sets it apart from others. */
interface VoiceProcessor<P extends VoiceParameters> extends Pick<
  Processor<P>,
  'id' | 'label' | 'about' | 'parameters' | 'start'
> {
  readonly pictureSeconds: number;
  /** Parameter by which the voices move. */
  readonly movedBy: keyof P & string;
  readonly settingsFor: (values: Values<P>, sampleRate: number) => VoiceSettings;
  /** Samples by which a voice moves at the most. */
  readonly movementFor: (values: Values<P>, sampleRate: number) => number;
  readonly createMotion: (sampleRate: number) => VoiceMotion<P>;
}

/** The whole definition of a processor that is a voice bank. */
export const defineVoices = <P extends VoiceParameters>({
  pictureSeconds,
  movedBy,
  settingsFor,
  movementFor,
  createMotion,
  ...words
}: VoiceProcessor<P>): Processor<P> =>
  defineProcessor({
    ...words,
    latency: () => 0,
    tail: (values, rate) => voiceTail(settingsFor(values, rate), movementFor(values, rate), rate),
    arrival: (values, rate) => voiceArrival(settingsFor(values, rate), movementFor(values, rate)),
    picture: {
      kind: 'time',
      x: [0, pictureSeconds],
      y: [PICTURE_FLOOR_DB, 0],
      drawn: 'stems',
      points: (values, rate) =>
        voiceStems(settingsFor(values, rate), movementFor(values, rate), PICTURE_FLOOR_DB, rate),
      handles: (values, rate) => [
        {
          id: 'delay',
          label: 'Delay',
          x: values.delay! / 1000,
          y: voiceLevel(settingsFor(values, rate), PICTURE_FLOOR_DB),
          across: { parameter: 'delay', at: (place) => 1000 * place },
          wheel: movedBy,
        },
      ],
    },
    createKernel: (values, rate) =>
      wetEffect(new VoiceBank(createMotion(rate), values, rate), new Mixer('equal power', 0, rate), values),
  });
