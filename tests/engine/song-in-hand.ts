import type { Audio } from '../../src/audio/audio.ts';
import { answerOf } from '../../src/engine/job.ts';
import { Song, type Sounds } from '../../src/engine/song.ts';
import { Workshop } from '../../src/engine/workshop.ts';
import { renderDirect } from '../../src/render/direct.ts';
import type { Executor } from '../../src/render/executor.ts';
import { parseSession } from '../../src/session/read/parse.ts';
import type { Session } from '../../src/session/schema.ts';
import { songSession } from '../cli/song.ts';
import { added, pinkNoise, scaled, sine, stereo } from '../helpers/signals.ts';

/** The length of the small song, s: just under a power of two of samples, as long as its noises are made. */
export const SECONDS = 0.68;

/** The sounds of a small song: a tone in one channel, two unlike noises, and a rough that swells. */
export const smallSounds = (): Map<string, Audio> => {
  const low = sine({ hz: 110, seconds: SECONDS, db: -12 });
  const noises = [7, 8, 9, 10].map((seed) => pinkNoise(SECONDS, seed, 0.1).subarray(0, low.length));
  const [noise, other, swelling, last] = noises as [Float32Array, Float32Array, Float32Array, Float32Array];
  const swell = swelling.map((x, n) => x * (0.2 + n / low.length));
  return new Map([
    ['bass.wav', { sampleRate: 48_000, channels: [low] }],
    ['keys.wav', stereo(noise, other)],
    ['rough.wav', stereo(swell, added(scaled(low, 0.5), last))],
  ]);
};

/** A session of two groups, a bus that doubles the bass through a saturator, and a reverb, unless `fields` say otherwise. */
export const smallSession = (fields: Parameters<typeof songSession>[0] = {}): Session => {
  const drive = { id: 'd', processor: 'saturator', settings: { drive: 12 } };
  const room = { id: 'r', processor: 'reverb', settings: { decay: 0.3, mix: 100 } };
  const document = songSession({
    groups: [
      { id: 'bass', name: 'Bass', sends: [{ to: 'double' }] },
      { id: 'keys', name: 'Keys', faderDb: -2, sends: [{ to: 'air' }] },
    ],
    buses: [
      { id: 'double', name: 'Bass double', blendDb: -12, chain: [drive] },
      { id: 'air', name: 'Air', blendDb: -15, chain: [room] },
    ],
    ...fields,
  });
  return parseSession(JSON.stringify(document), 'small.json');
};

/** The same where the blend of the double also steers the reverb. */
export const feedingSession = (fields: Parameters<typeof songSession>[0] = {}): Session => {
  const session = smallSession(fields);
  const [double, ...others] = session.buses;
  const send = { to: 'air', levelDb: 0, tap: 'post-fader', on: true } as const;
  return { ...session, buses: [{ ...double!, sends: [send] }, ...others] };
};

/** A section late in the small song, and its frames. */
export const LATE = { startSeconds: 0.2, endSeconds: 0.65 };
export const LATE_FRAMES = { from: 9600, to: 31_200 };

/** Where jobs are tried: name, section, frames. */
export const stretches = [
  ['the whole song', null, null],
  ['a section', LATE, LATE_FRAMES],
] as const;

/** Decimals that agree: the query's sums run in another order than those of a sound that is measured. */
export const ROUNDING = 6;

/** A song with these sounds, and all that its executor was asked for. */
export class SongInHand {
  readonly song: Song;
  /** Ids of the strips that each render ran. */
  readonly ran: string[][] = [];
  /** How far each render ran, frames. */
  readonly frames: number[] = [];
  /** Called when a render begins. */
  onRender = (): void => {};

  constructor(readonly sounds: ReadonlyMap<string, Audio> = smallSounds()) {
    const at: Sounds['at'] = (file) => this.sounds.get(file) ?? null;
    this.song = new Song({ at }, this.render);
  }

  private readonly render: Executor = (plan, sources, options = {}) => {
    const run: string[] = [];
    this.ran.push(run);
    this.frames.push(plan.frames);
    this.onRender();
    const cache = options.cache!;
    const names = new Map(plan.strips.map((strip) => [strip.key, strip.id]));
    return renderDirect(plan, sources, {
      ...options,
      cache: {
        get: (key) => cache.get(key),
        set: (key, sound) => {
          run.push(names.get(key.split(':')[0]!)!);
          cache.set(key, sound);
        },
      },
    });
  };

  /** The workshop of a session that is rendered and kept. */
  async workshop(
    session: Session,
    ...others: ConstructorParameters<typeof Workshop> extends [unknown, unknown, ...infer More] ? More : never
  ): Promise<Workshop> {
    this.song.keepOnly(this.song.planned(session).plan);
    return new Workshop(this.song, await answerOf(this.song.rendered(session, 'kept')), ...others);
  }
}
