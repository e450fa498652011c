import { describe, expect, it } from 'vitest';
import type { Audio } from '../../src/audio/audio.ts';
import { finished } from '../../src/audio/steps.ts';
import { staticCurveDb, type CompressorValues } from '../../src/dsp/processors/compressor.ts';
import { measure } from '../../src/measure/measure.ts';
import { raised } from '../../src/render/fit/match-make-up.ts';
import { chainSteps } from '../../src/render/mix.ts';
import type { Preset } from '../../src/session/presets/preset.ts';
import { presetByName, presets } from '../../src/session/presets/presets.ts';
import { stepsOf, valuesOf } from '../../src/session/values.ts';
import { fittedTo, SONG } from '../helpers/fitting.ts';
import { sampleOf } from '../helpers/soak.ts';
import { joined, sine, stereo } from '../helpers/signals.ts';
import { demoParts } from './demo-parts.ts';

/** How much louder the chorus is than the verses on both sides of it, dB. */
const STEP_DB = 12;
const SECONDS = 4;
/** The contract, dB: the same bar before and after the loud section has the same gain. */
const SAME_DB = 0.1;

/** Verse, chorus and verse out of one piece. */
const songOf = (piece: Audio): Audio => ({
  sampleRate: piece.sampleRate,
  channels: piece.channels.map((verse, n) => joined(verse, raised(piece, STEP_DB).channels[n]!, verse)),
});

/** The last second of part 0, 1 or 2, when releases have settled. */
const endOf = ({ sampleRate, channels }: Audio, part: number): Audio => {
  const to = (part + 1) * SECONDS * sampleRate;
  return { sampleRate, channels: channels.map((channel) => channel.subarray(to - sampleRate, to)) };
};

const through = (song: Audio, preset: Preset): Audio =>
  finished(chainSteps(song, stepsOf(fittedTo(song, preset).chain, SONG.tempo, SONG.meter), null));

const rms = (audio: Audio): number => measure(audio).rmsDbfs!;

const levelled = sampleOf(
  presets.filter(({ fit, level }) => fit !== undefined && level.kind === 'levelled'),
  3,
);

describe('a loud section between two soft ones', () => {
  it.each(levelled.map((preset) => [preset.name, preset] as const))(
    'comes out of %s louder, by no more than it came, and leaves the soft ones alike',
    async (_name, preset) => {
      const { sampleRate, channels } = await demoParts(preset.suits);
      const piece = { sampleRate, channels: channels.map((channel) => channel.slice(0, SECONDS * sampleRate)) };
      const out = through(songOf(raised(piece, -STEP_DB)), preset);
      const [before, loud, after] = [0, 1, 2].map((part) => rms(endOf(out, part)));
      expect(Math.abs(after! - before!)).toBeLessThan(SAME_DB);
      expect(loud! - before!).toBeGreaterThan(0.5);
      expect(loud! - before!).toBeLessThan(STEP_DB + SAME_DB);
    },
  );

  it.each(['bus glue', 'bass levelling', 'mix bus polish'])(
    'is as much louder after %s as its static curve explains',
    (name) => {
      const preset = presetByName(name)!;
      const piece = stereo(
        sine({ hz: 1000, seconds: SECONDS, db: -20 }),
        sine({ hz: 1000, seconds: SECONDS, db: -20 }),
      );
      const song = songOf(piece);
      const item = fittedTo(song, preset).items.find((each) => each.item.processor === 'compressor');
      const values = valuesOf(item!.item, SONG.tempo, SONG.meter) as unknown as CompressorValues;
      const explained = staticCurveDb(values, -20 + STEP_DB) - staticCurveDb(values, -20);
      const out = through(song, preset);
      // The smooth line falls with 4 ms between peaks 0.5 ms apart, 0.5 dB below them in the mean, of which 3/4 are taken.
      expect(Math.abs(rms(endOf(out, 1)) - rms(endOf(out, 0)) - explained)).toBeLessThan(0.4);
    },
  );

  it('of 12 dB is one of 10 dB at least after mix bus polish, as its purpose says', async () => {
    const preset = presetByName('mix bus polish')!;
    const { sampleRate, channels } = await demoParts(preset.suits);
    const piece = { sampleRate, channels: channels.map((channel) => channel.slice(0, SECONDS * sampleRate)) };
    const out = through(songOf(raised(piece, -STEP_DB)), preset);
    expect(rms(endOf(out, 1)) - rms(endOf(out, 0))).toBeGreaterThan(10);
  });
});
