import { clock } from '../../audio/clock.ts';
import { digestBase64 } from '../bytes/sha256.ts';
import { escaped } from './escaped.ts';

/** Excerpts in a report: sides matched in loudness, over a short range. */
export interface ReportSound {
  /** Loudness to which all sides were turned down, LUFS. */
  readonly matchedLufs: number;
  readonly kbps: number;
  /** Start in the song, and length, s. */
  readonly startsAtSeconds: number;
  readonly seconds: number;
  /** MP3 as base64. */
  readonly played: readonly { readonly name: string; readonly mp3: string }[];
}

/** Initial volume, linear: -12 dB, as the listener's system may be set loud. */
const FIRST_VOLUME = 0.25;

/** The script of a report with sound, written into it as source text: one side plays at a time, from the position of the other. */
const flipBetween = (firstVolume: number): void => {
  const players = [...document.querySelectorAll('audio')];
  for (const player of players) {
    player.volume = firstVolume;
    player.addEventListener('play', () => {
      for (const other of players) {
        if (other === player) continue;
        if (other.currentTime > 0) player.currentTime = other.currentTime;
        player.volume = other.volume;
        other.pause();
        other.currentTime = 0;
      }
    });
    player.addEventListener('volumechange', () => {
      for (const other of players) if (other.volume !== player.volume) other.volume = player.volume;
    });
  }
};

export const SOUND_STYLE = `
.sides { display: grid; grid-template-columns: repeat(auto-fit, minmax(16rem, 1fr)); gap: 0.6rem 1.2rem; }
.sides figure { margin: 0.4rem 0; }
audio { width: 100%; }
@media print { .heard { display: none; } }
`;

const scriptOf = (): string => `(${flipBetween.toString()})(${FIRST_VOLUME});`;

/** Content-Security-Policy rules that allow the excerpts and the script. */
export const soundPolicy = async (): Promise<string> =>
  `media-src data:; script-src 'sha256-${await digestBase64(scriptOf())}'`;

/** The sides as a part of a page. */
export const soundPart = ({ matchedLufs, kbps, startsAtSeconds, seconds, played }: ReportSound): string => `
<section class="heard"><h2>Listen</h2>
<p>From ${clock(startsAtSeconds)}, ${Math.round(seconds)} s, all at ${matchedLufs.toFixed(1).replace('-', '\u2212')} LUFS, so that none wins by being louder; compressed (MP3, ${kbps} kbit/s), for listening only. Pressing play on one goes on from where the other was.</p>
<p><strong>Start low, take breaks, follow local exposure limits.</strong> Playing starts 12 dB down.</p>
<div class="sides">${played
  .map(
    ({ name, mp3 }) =>
      `<figure><figcaption>${escaped(name)}</figcaption><audio controls preload="auto" aria-label="${escaped(name)}" src="data:audio/mpeg;base64,${mp3}"></audio></figure>`,
  )
  .join('')}</div>
<script>${scriptOf()}</script></section>`;
