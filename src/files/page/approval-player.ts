/** One version on the page. */
interface PlayedVersion {
  readonly id: string;
  readonly name: string;
  /** MP3 as base64. */
  readonly sound: string;
}

/** Data of the script of an approval page. */
export interface PlayedApproval {
  readonly format: string;
  readonly title: string;
  /** Names stay hidden until the answers are saved. */
  readonly isBlind: boolean;
  /** Time of the song at which the versions begin, s. */
  readonly startsAtSeconds: number;
  readonly versions: readonly PlayedVersion[];
  /** Times from the beginning of the versions, s. */
  readonly sections: readonly { readonly name: string; readonly startSeconds: number; readonly endSeconds: number }[];
}

/**
 * The script of an approval page. Its source text is written into the page, so it refers to nothing outside of itself except
 * browser interfaces.
 */
export class ApprovalPlayer {
  private readonly data = JSON.parse(this.element('approval-data').textContent) as PlayedApproval;
  /** The version at each position on the page. */
  private readonly order = this.data.versions.map((_, n) => n);
  private readonly notes: { version: string; startSeconds: number; text: string }[] = [];
  private readonly buffers: AudioBuffer[] = [];
  private readonly gains: GainNode[] = [];
  private sources: AudioBufferSourceNode[] = [];
  private output: { readonly context: AudioContext; readonly volume: GainNode } | null = null;
  private isHidden = this.data.isBlind;
  private isPlaying = false;
  private startedAt = 0;
  private position = 0;
  private heard = 0;
  private loop: PlayedApproval['sections'][number] | null = null;

  constructor() {
    if (this.isHidden) this.shuffle();
    this.listen();
    this.showNames();
    this.setVolume();
    this.draw();
    setInterval(() => {
      if (this.isPlaying) this.draw();
    }, 100);
  }

  private element<E extends HTMLElement>(id: string): E {
    return document.getElementById(id) as E;
  }

  private shuffle(): void {
    const { order } = this;
    for (let n = order.length - 1; n > 0; n--) {
      const other = crypto.getRandomValues(new Uint32Array(1))[0]! % (n + 1);
      [order[n], order[other]] = [order[other]!, order[n]!];
    }
  }

  private versionAt(place: number): PlayedVersion {
    return this.data.versions[this.order[place]!]!;
  }

  private nameAt(place: number): string {
    return this.isHidden ? `Version ${String.fromCharCode(65 + place)}` : this.versionAt(place).name;
  }

  /** A position in the versions as a time of the song. */
  private clock(at: number): string {
    const seconds = at + this.data.startsAtSeconds;
    return `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, '0')}`;
  }

  private get length(): number {
    return Math.max(0, ...this.buffers.map(({ duration }) => duration));
  }

  /** Playback position, s from the beginning of the versions. */
  private get now(): number {
    const { loop, output, position } = this;
    if (!this.isPlaying || !output) return position;
    const at = position + output.context.currentTime - this.startedAt;
    if (!loop || at < loop.endSeconds) return at;
    return loop.startSeconds + ((at - loop.startSeconds) % (loop.endSeconds - loop.startSeconds));
  }

  private say(words: string): void {
    this.element('state').textContent = words;
  }

  private async load(): Promise<AudioContext> {
    if (this.output) return this.output.context;
    this.say('Reading the versions …');
    const context = new AudioContext();
    const volume = context.createGain();
    volume.connect(context.destination);
    this.output = { context, volume };
    this.setVolume();
    for (const place of this.order.keys()) {
      const bytes = Uint8Array.from(atob(this.versionAt(place).sound), (sign) => sign.charCodeAt(0));
      this.buffers.push(await context.decodeAudioData(bytes.buffer));
      const gain = context.createGain();
      gain.connect(volume);
      this.gains.push(gain);
    }
    this.element<HTMLInputElement>('position').max = String(this.length);
    this.say('');
    return context;
  }

  private stop(): void {
    for (const source of this.sources) source.stop();
    this.sources = [];
  }

  private start(context: AudioContext, at: number): void {
    this.stop();
    this.position = at;
    this.startedAt = context.currentTime;
    this.sources = this.buffers.map((buffer, n) => {
      const source = context.createBufferSource();
      source.buffer = buffer;
      const { loop } = this;
      if (loop) [source.loop, source.loopStart, source.loopEnd] = [true, loop.startSeconds, loop.endSeconds];
      source.connect(this.gains[n]!);
      source.start(0, Math.min(at, buffer.duration));
      return source;
    });
  }

  /** All versions play in sync; only the selected one is audible. */
  private hear(place: number): void {
    this.heard = place;
    const { context } = this.output ?? {};
    if (!context) return;
    // Within 20 ms, so that a switch does not click.
    this.gains.forEach((gain, n) => gain.gain.setTargetAtTime(n === place ? 1 : 0, context.currentTime, 0.007));
  }

  private setVolume(): void {
    const field = this.element<HTMLInputElement>('volume');
    const db = Number(field.value);
    const words = `${db} dB`.replace('-', '\u2212');
    this.element('volume-text').textContent = words;
    field.setAttribute('aria-valuetext', words);
    const gain = db <= Number(field.min) ? 0 : 10 ** (db / 20);
    this.output?.volume.gain.setTargetAtTime(gain, this.output.context.currentTime, 0.02);
  }

  private seek(at: number): void {
    if (this.isPlaying && this.output) this.start(this.output.context, at);
    else this.position = at;
    this.draw();
  }

  private async play(): Promise<void> {
    const context = await this.load();
    await context.resume();
    this.isPlaying = true;
    this.hear(this.heard);
    const { position } = this;
    this.start(context, position >= this.length ? (this.loop?.startSeconds ?? 0) : position);
    this.draw();
  }

  private pause(): void {
    this.position = this.now;
    this.isPlaying = false;
    this.stop();
    this.draw();
  }

  private draw(): void {
    if (this.isPlaying && !this.loop && this.now >= this.length) {
      this.pause();
      this.position = 0;
    }
    const at = this.now;
    this.element('play').textContent = this.isPlaying ? 'Pause' : 'Play';
    this.element<HTMLInputElement>('position').value = String(at);
    const whole = this.length > 0 ? ` of ${this.clock(this.length)}` : '';
    this.element('time').textContent = this.clock(at) + whole;
    this.element('add-note').textContent = `Add note at ${this.clock(at)}`;
  }

  private showNames(): void {
    for (const place of this.order.keys()) {
      this.element(`version-${place}-name`).textContent = this.nameAt(place);
      this.element(`prefer-${place}`).textContent = this.nameAt(place);
    }
  }

  private listNotes(): void {
    const items = this.notes.map((note, n) => {
      const item = document.createElement('li');
      const time = this.clock(note.startSeconds - this.data.startsAtSeconds);
      const place = this.order.findIndex((_, each) => this.versionAt(each).id === note.version);
      item.textContent = `${time}, ${this.nameAt(place)}: ${note.text} `;
      const remove = document.createElement('button');
      remove.type = 'button';
      remove.textContent = 'Delete';
      remove.setAttribute('aria-label', `Delete the note at ${time}`);
      remove.onclick = () => {
        this.notes.splice(n, 1);
        this.listNotes();
      };
      item.append(remove);
      return item;
    });
    this.element('notes').replaceChildren(...items);
  }

  private addNote(): void {
    const field = this.element<HTMLTextAreaElement>('note');
    const text = field.value.trim();
    if (text === '') return;
    const startSeconds = Math.round((this.now + this.data.startsAtSeconds) * 10) / 10;
    this.notes.push({ version: this.versionAt(this.heard).id, startSeconds, text });
    field.value = '';
    this.listNotes();
  }

  private save(): void {
    const { data, notes } = this;
    const { format, title, isBlind } = data;
    const chosen = this.element<HTMLSelectElement>('prefer').value;
    const preferred = chosen === '' ? null : this.versionAt(Number(chosen)).id;
    const approved = preferred !== null && this.element<HTMLInputElement>('approved').checked;
    const listener = this.element<HTMLInputElement>('listener').value.trim();
    const answers = { format, version: 1, title, isBlind, listener, preferred, approved, notes };
    const link = document.createElement('a');
    link.href = URL.createObjectURL(new Blob([JSON.stringify(answers, null, 2)], { type: 'application/json' }));
    link.download = `${title.replace(/[^\p{L}\p{N} _-]/gu, '')} - answers.json`;
    link.click();
    this.isHidden = false;
    this.showNames();
    this.listNotes();
    this.say('Your answers are saved as a file: send it back.');
  }

  private chooseSection(): void {
    const at = this.now;
    this.loop = this.data.sections[Number(this.element<HTMLSelectElement>('section').value || '-1')] ?? null;
    const isInside = !this.loop || (at >= this.loop.startSeconds && at < this.loop.endSeconds);
    this.seek(isInside ? at : this.loop!.startSeconds);
  }

  private listen(): void {
    this.element('play').onclick = () => (this.isPlaying ? this.pause() : void this.play());
    const position = this.element<HTMLInputElement>('position');
    position.oninput = () => this.seek(Number(position.value));
    this.element('volume').oninput = () => this.setVolume();
    for (const place of this.order.keys()) this.element(`version-${place}`).onchange = () => this.hear(place);
    this.element('section').onchange = () => this.chooseSection();
    this.element('note-form').onsubmit = (event) => {
      event.preventDefault();
      this.addNote();
    };
    this.element('save').onclick = () => this.save();
  }
}
