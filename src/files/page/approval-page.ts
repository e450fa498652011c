import { digestBase64 } from '../bytes/sha256.ts';
import { APPROVAL_FORMAT } from './approval-format.ts';
import { ApprovalPlayer, type PlayedApproval } from './approval-player.ts';
import { escaped } from './escaped.ts';
import { pageAround } from './html-page.ts';

/** Content of an approval page. */
interface ApprovalContent extends Omit<PlayedApproval, 'format'> {
  readonly artist: string;
  /** Name of the section on the page; null: the whole song. */
  readonly part: string | null;
  /** Loudness to which all versions were turned down, LUFS. */
  readonly matchedLufs: number;
}

/**
 * Initial volume, dB: low, as the listener's system may be set loud; but a client who opens the page on a
 * laptop must be able to hear it.
 */
const FIRST_VOLUME_DB = -12;

const STYLE = `
fieldset, .row { display: flex; flex-wrap: wrap; gap: 0.4rem 1rem; align-items: center; margin: 0 0 1rem; padding: 0.7rem 0.9rem; border: 1px solid var(--line); border-radius: 8px; }
fieldset { gap: 0.5rem; }
legend, .label { color: var(--soft); font-size: 13px; }
.version { display: flex; gap: 0.4rem; align-items: center; padding: 0.3rem 0.8rem; border: 1px solid var(--line); border-radius: 6px; cursor: pointer; }
.version:has(:checked) { border-color: var(--after); background: var(--well); font-weight: 600; }
button, select, input[type=text], textarea { padding: 0.35rem 0.8rem; border: 1px solid var(--line); border-radius: 6px; background: var(--well); color: var(--ink); font: inherit; }
button { cursor: pointer; }
button.main { border-color: var(--after); background: var(--after); color: var(--paper); }
:focus-visible { outline: 2px solid var(--after); outline-offset: 2px; }
#position { flex: 1 1 14rem; }
input[type=range], input[type=radio], input[type=checkbox] { accent-color: var(--after); }
textarea { display: block; box-sizing: border-box; width: 100%; min-height: 4rem; margin-bottom: 0.5rem; }
li { margin: 0.3rem 0; }
`;

const versionsHtml = (versions: ApprovalContent['versions']): string =>
  versions
    .map(
      (_, n) =>
        `<label class="version"><input type="radio" name="version" id="version-${n}"${n === 0 ? ' checked' : ''}> <span id="version-${n}-name"></span></label>`,
    )
    .join('');

const bodyHtml = ({ title, artist, part, versions, sections, isBlind, matchedLufs }: ApprovalContent): string => `
<main>
<h1>${escaped(title)}</h1>
<p>${artist === '' ? '' : `${escaped(artist)}. `}Listen to ${versions.length} versions and say which one you prefer. All are matched in loudness (${matchedLufs.toFixed(1).replace('-', '\u2212')} LUFS), so that none wins by being louder${isBlind ? '; their names are hidden until you save your answers' : ''}. They are compressed (MP3), for listening only.</p>
<p><strong>Start low, take breaks, follow local exposure limits.</strong> Playing starts ${-FIRST_VOLUME_DB} dB down: <em>Volume</em> turns it up.</p>
<fieldset><legend>Version</legend>${versionsHtml(versions)}</fieldset>
<div class="row"><button type="button" class="main" id="play">Play</button><input type="range" id="position" aria-label="Position, seconds" min="0" max="1" step="0.1" value="0"><span id="time">0:00</span>
<span class="item"><label class="label" for="section">Section</label> <select id="section"><option value="">${part === null ? 'whole song' : `all of ${escaped(part)}`}</option>${sections.map(({ name }, n) => `<option value="${n}">${escaped(name)}, in a loop</option>`).join('')}</select></span>
<span class="item"><label class="label" for="volume">Volume</label> <input type="range" id="volume" min="-60" max="0" step="1" value="${FIRST_VOLUME_DB}"> <span id="volume-text"></span></span></div>
<h2>Your answers</h2>
<form id="note-form"><label for="note" class="label">A note on what you hear, at the place where you are</label><textarea id="note" maxlength="2000"></textarea><button type="submit" id="add-note">Add note</button></form>
<ul id="notes"></ul>
<div class="row"><span class="item"><label class="label" for="prefer">I prefer</label> <select id="prefer"><option value="">no preference</option>${versions.map((_, n) => `<option value="${n}" id="prefer-${n}"></option>`).join('')}</select></span>
<label><input type="checkbox" id="approved"> It is approved as it is</label>
<span class="item"><label class="label" for="listener">Your name</label> <input type="text" id="listener" maxlength="80" autocomplete="name"></span>
<button type="button" class="main" id="save">Save answers …</button></div>
<p id="state" role="status"></p>
</main>
`;

/**
 * One HTML file with two or more versions of a song, matched in loudness, that plays in any browser without other files; answers
 * are saved as a file, which `answersIn` reads.
 */
export const approvalPage = async (content: ApprovalContent): Promise<string> => {
  const { title, isBlind, startsAtSeconds, versions, sections } = content;
  const script = `new (${ApprovalPlayer.toString()})();`;
  const data: PlayedApproval = { format: APPROVAL_FORMAT, title, isBlind, startsAtSeconds, versions, sections };
  const json = JSON.stringify(data).replace(/</g, '\\u003c');
  return pageAround({
    title: `Versions of ${title}`,
    style: STYLE,
    scripts: `script-src 'sha256-${await digestBase64(script)}'`,
    body: `${bodyHtml(content)}<script type="application/json" id="approval-data">${json}</script><script>${script}</script>`,
  });
};
