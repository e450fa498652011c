/** One version as the page holds it. */
export interface PlayedVersion {
  readonly id: string;
  readonly name: string;
  /** MP3 as base64. */
  readonly sound: string;
}

/** What the script of an approval page works with. */
export interface PlayedApproval {
  readonly format: string;
  readonly title: string;
  /** Names stay hidden until the answers are saved. */
  readonly isBlind: boolean;
  /** Where in the song the versions begin, s. */
  readonly startsAtSeconds: number;
  readonly versions: readonly PlayedVersion[];
  /** From the beginning of the versions. */
  readonly sections: readonly { readonly name: string; readonly startSeconds: number; readonly endSeconds: number }[];
}

/**
 * The script of an approval page. It is written into the page as its own source text, so it refers to nothing outside of itself but what
 * a browser offers.
 */
export function approvalPlayer(): void {
  const FADE_SECONDS = 0.02;
  const element = <E extends HTMLElement>(id: string): E => document.getElementById(id) as E;
  const data = JSON.parse(element('approval-data').textContent) as PlayedApproval;
  const { versions, sections } = data;
  const order = versions.map((_, n) => n);
  if (data.isBlind) {
    for (let n = order.length - 1; n > 0; n--) {
      const other = crypto.getRandomValues(new Uint32Array(1))[0]! % (n + 1);
      [order[n], order[other]] = [order[other]!, order[n]!];
    }
  }
  let isHidden = data.isBlind;
  const nameAt = (place: number): string =>
    isHidden ? `Version ${String.fromCharCode(65 + place)}` : versions[order[place]!]!.name;

  let context: AudioContext | null = null;
  let buffers: AudioBuffer[] = [];
  let gains: GainNode[] = [];
  let sources: AudioBufferSourceNode[] = [];
  let volume: GainNode | null = null;
  let startedAt = 0;
  let position = 0;
  let isPlaying = false;
  let heard = 0;
  let loop: PlayedApproval['sections'][number] | null = null;
  const notes: { version: string | null; startSeconds: number; text: string }[] = [];

  /** A place in the versions as a time of the song. */
  const clock = (at: number): string => {
    const seconds = at + data.startsAtSeconds;
    return `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, '0')}`;
  };
  const length = (): number => Math.max(0, ...buffers.map(({ duration }) => duration));
  const now = (): number => {
    if (!isPlaying || !context) return position;
    const at = position + context.currentTime - startedAt;
    if (!loop || at < loop.endSeconds) return at;
    const span = loop.endSeconds - loop.startSeconds;
    return loop.startSeconds + ((at - loop.startSeconds) % span);
  };
  const say = (words: string): void => void (element('state').textContent = words);

  const load = async (): Promise<void> => {
    if (context) return;
    say('Reading the versions …');
    context = new AudioContext();
    volume = context.createGain();
    volume.connect(context.destination);
    setVolume();
    for (const each of order) {
      const bytes = Uint8Array.from(atob(versions[each]!.sound), (sign) => sign.charCodeAt(0));
      buffers.push(await context.decodeAudioData(bytes.buffer));
      const gain = context.createGain();
      gain.connect(volume);
      gains.push(gain);
    }
    element<HTMLInputElement>('position').max = String(length());
    say('');
  };
  const stop = (): void => {
    for (const source of sources) source.stop();
    sources = [];
  };
  const start = (at: number): void => {
    stop();
    position = at;
    startedAt = context!.currentTime;
    sources = buffers.map((buffer, n) => {
      const source = context!.createBufferSource();
      source.buffer = buffer;
      if (loop) [source.loop, source.loopStart, source.loopEnd] = [true, loop.startSeconds, loop.endSeconds];
      source.connect(gains[n]!);
      source.start(0, Math.min(at, buffer.duration));
      return source;
    });
  };
  const hear = (place: number): void => {
    heard = place;
    gains.forEach((gain, n) => {
      gain.gain.setTargetAtTime(n === place ? 1 : 0, context!.currentTime, FADE_SECONDS / 3);
    });
  };
  function setVolume(): void {
    const db = Number(element<HTMLInputElement>('volume').value);
    element('volume-text').textContent = `${db} dB`.replace('-', '\u2212');
    volume?.gain.setTargetAtTime(db <= -60 ? 0 : 10 ** (db / 20), context!.currentTime, FADE_SECONDS);
  }
  const seek = (at: number): void => {
    if (isPlaying) start(at);
    else position = at;
    draw();
  };
  const play = async (): Promise<void> => {
    await load();
    await context!.resume();
    isPlaying = true;
    hear(heard);
    start(now() >= length() ? (loop?.startSeconds ?? 0) : position);
    draw();
  };
  const pause = (): void => {
    position = now();
    isPlaying = false;
    stop();
    draw();
  };
  function draw(): void {
    const at = now();
    if (isPlaying && !loop && at >= length()) {
      isPlaying = false;
      position = 0;
      stop();
    }
    element('play').textContent = isPlaying ? 'Pause' : 'Play';
    element<HTMLInputElement>('position').value = String(at);
    element('time').textContent = length() > 0 ? `${clock(at)} of ${clock(length())}` : clock(at);
    element('add-note').textContent = `Add note at ${clock(at)}`;
  }
  const name = (): void => {
    order.forEach((_, place) => {
      element(`version-${place}-name`).textContent = nameAt(place);
      element(`prefer-${place}`).textContent = nameAt(place);
    });
  };
  const listNotes = (): void => {
    const list = element('notes');
    list.replaceChildren(
      ...notes.map((note, n) => {
        const item = document.createElement('li');
        const place = order.findIndex((each) => versions[each]!.id === note.version);
        item.textContent = `${clock(note.startSeconds - data.startsAtSeconds)}, ${nameAt(place)}: ${note.text} `;
        const remove = document.createElement('button');
        remove.type = 'button';
        remove.textContent = 'Delete';
        remove.setAttribute('aria-label', `Delete the note at ${clock(note.startSeconds - data.startsAtSeconds)}`);
        remove.onclick = () => {
          notes.splice(n, 1);
          listNotes();
        };
        item.append(remove);
        return item;
      }),
    );
  };
  const save = (): void => {
    const chosen = element<HTMLSelectElement>('prefer').value;
    const preferred = chosen === '' ? null : versions[order[Number(chosen)]!]!.id;
    const answers = {
      ...{ format: data.format, version: 1, title: data.title, isBlind: data.isBlind },
      listener: element<HTMLInputElement>('listener').value.trim(),
      ...{ preferred, approved: element<HTMLInputElement>('approved').checked && preferred !== null, notes },
    };
    const link = document.createElement('a');
    link.href = URL.createObjectURL(new Blob([JSON.stringify(answers, null, 2)], { type: 'application/json' }));
    link.download = `${data.title.replace(/[^\p{L}\p{N} _-]/gu, '')} - answers.json`;
    link.click();
    isHidden = false;
    name();
    listNotes();
    say('Your answers are saved as a file: send it back.');
  };

  element('play').onclick = () => void (isPlaying ? pause() : play());
  element('position').oninput = () => seek(Number(element<HTMLInputElement>('position').value));
  element('volume').oninput = setVolume;
  order.forEach((_, place) => {
    element(`version-${place}`).onchange = () => (context ? hear(place) : (heard = place));
  });
  element('section').onchange = () => {
    const at = now();
    loop = sections[Number(element<HTMLSelectElement>('section').value)] ?? null;
    const isInside = !loop || (at >= loop.startSeconds && at < loop.endSeconds);
    seek(isInside ? at : loop!.startSeconds);
  };
  element('note-form').onsubmit = (event) => {
    event.preventDefault();
    const field = element<HTMLTextAreaElement>('note');
    const text = field.value.trim();
    if (text === '') return;
    notes.push({
      version: versions[order[heard]!]!.id,
      startSeconds: Math.round((now() + data.startsAtSeconds) * 10) / 10,
      text,
    });
    field.value = '';
    listNotes();
  };
  element('save').onclick = save;
  setInterval(() => {
    if (isPlaying) draw();
  }, 100);
  name();
  setVolume();
  draw();
}
