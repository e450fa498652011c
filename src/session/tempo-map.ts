import type { Session } from './schema.ts';

type Meter = Session['meter'];

/** A place that is reckoned from seconds falls short of its bar or beat by less than this, bars or beats. */
const ROUNDING = 1e-6;

/** Quarter notes in a bar of this meter. */
const quartersInBar = ([beats, note]: Meter): number => (beats * 4) / note;

/**
 * What places in bars depend on. A tempo is in quarter notes a minute; a ramp comes to it evenly along the quarter notes from the change
 * before.
 */
export type SongTempo = Pick<Session, 'tempo' | 'meter' | 'tempoChanges' | 'meterChanges'>;

/** From a moment on, seconds, until the next: the tempo and meter that note values are reckoned with. */
export interface TempoStep {
  readonly seconds: number;
  readonly tempo: number;
  readonly meter: Meter;
}

/** A stretch between two changes of the meter. */
interface MeterSpan {
  readonly meter: Meter;
  readonly bar: number;
  readonly quarters: number;
  readonly inBar: number;
}

/** A stretch of the song over which the tempo stands or moves evenly, from its start on; the last never ends. */
interface TempoSpan {
  readonly quarters: number;
  readonly seconds: number;
  /** Quarter notes a minute at its start. */
  readonly tempo: number;
  /** By which the tempo grows with every quarter note; 0: it stands. */
  readonly growth: number;
}

/** The last of the spans that begins at or before a place. */
const spanAt = <S>(spans: readonly S[], place: number, startOf: (span: S) => number): S =>
  spans.findLast((span) => startOf(span) <= place) ?? spans[0]!;

/**
 * Seconds after the start of a span, `quarters` after it. Where the tempo grows by k a quarter from b on, the time is the integral of
 * 60 / (b + k q) over q: (60 / k) ln(1 + k q / b).
 */
const secondsInto = ({ tempo, growth }: TempoSpan, quarters: number): number =>
  growth === 0 ? (60 * quarters) / tempo : (60 / growth) * Math.log1p((growth * quarters) / tempo);

const quartersInto = ({ tempo, growth }: TempoSpan, seconds: number): number =>
  growth === 0 ? (seconds * tempo) / 60 : (tempo / growth) * Math.expm1((growth * seconds) / 60);

/** Places of a song in bars (1 is the start of the first), quarter notes and seconds from its start, by its tempo and meter. */
export class TempoMap {
  private readonly meters: readonly MeterSpan[];
  private readonly tempi: readonly TempoSpan[];

  constructor({ tempo, meter, tempoChanges, meterChanges }: SongTempo) {
    const meters: MeterSpan[] = [{ meter, bar: 1, quarters: 0, inBar: quartersInBar(meter) }];
    for (const change of meterChanges) {
      const { bar, quarters, inBar } = meters.at(-1)!;
      meters.push({
        meter: change.meter,
        bar: change.bar,
        quarters: quarters + (change.bar - bar) * inBar,
        inBar: quartersInBar(change.meter),
      });
    }
    this.meters = meters;
    const tempi: TempoSpan[] = [{ quarters: 0, seconds: 0, tempo, growth: 0 }];
    for (const change of tempoChanges) {
      const before = tempi.pop()!;
      const quarters = this.quartersAt(change.bar);
      const length = quarters - before.quarters;
      const growth = change.how === 'ramp' && length > 0 ? (change.tempo - before.tempo) / length : 0;
      const span = { ...before, growth };
      tempi.push(span, {
        quarters,
        seconds: span.seconds + secondsInto(span, length),
        tempo: change.tempo,
        growth: 0,
      });
    }
    this.tempi = tempi;
  }

  /** Quarter notes from the start of the song to a place in bars. */
  private quartersAt(bar: number): number {
    const span = spanAt(this.meters, bar, (each) => each.bar);
    return span.quarters + (bar - span.bar) * span.inBar;
  }

  /** Seconds from the start of the song to a place in bars. */
  secondsAt(bar: number): number {
    const quarters = this.quartersAt(bar);
    const span = spanAt(this.tempi, quarters, (each) => each.quarters);
    return span.seconds + secondsInto(span, quarters - span.quarters);
  }

  /** Quarter notes from the start of the song to a moment. */
  quartersIn(seconds: number): number {
    const tempo = spanAt(this.tempi, seconds, (each) => each.seconds);
    return tempo.quarters + quartersInto(tempo, seconds - tempo.seconds);
  }

  /** The place in bars, seconds from the start of the song. */
  barAt(seconds: number): number {
    const quarters = this.quartersIn(seconds);
    const span = spanAt(this.meters, quarters, (each) => each.quarters);
    return span.bar + (quarters - span.quarters) / span.inBar;
  }

  /** Bar and beat that a moment lies in, both counted from 1. */
  beatAt(seconds: number): { readonly bar: number; readonly beat: number } {
    const span = this.spanOf(Math.max(0, seconds));
    const beats = Math.floor(this.beatsInto(span, Math.max(0, seconds)) + ROUNDING);
    const [inBar] = span.meter;
    return { bar: span.bar + Math.floor(beats / inBar), beat: (beats % inBar) + 1 };
  }

  /** The beat nearest to a moment, seconds. */
  nearestBeat(seconds: number): number {
    const span = this.spanOf(Math.max(0, seconds));
    return this.secondsOfBeat(span, Math.round(this.beatsInto(span, Math.max(0, seconds))));
  }

  /** The moment so many beats after another, before it where there are fewer than 0; not before the song. Seconds. */
  beatsFrom(seconds: number, beats: number): number {
    const span = this.spanOf(seconds);
    return Math.max(0, this.secondsOfBeat(span, this.beatsInto(span, seconds) + beats));
  }

  /** Tempo and meter at a moment. */
  tempoAt(seconds: number): Pick<TempoStep, 'tempo' | 'meter'> {
    const span = spanAt(this.tempi, seconds + ROUNDING, (each) => each.seconds);
    const tempo = span.tempo + span.growth * Math.max(0, quartersInto(span, seconds - span.seconds));
    return { tempo, meter: this.spanOf(seconds).meter };
  }

  private spanOf(seconds: number): MeterSpan {
    const bar = this.barAt(seconds) + ROUNDING;
    return spanAt(this.meters, bar, (each) => each.bar);
  }

  /** Beats from where a meter begins. */
  private beatsInto({ bar, meter }: MeterSpan, seconds: number): number {
    return (this.barAt(seconds) - bar) * meter[0];
  }

  private secondsOfBeat({ bar, meter }: MeterSpan, beats: number): number {
    return this.secondsAt(bar + beats / meter[0]);
  }

  /** Where tempo or meter change, the song's start first: in a ramp at every quarter note. */
  get steps(): readonly TempoStep[] {
    const places = new Set(this.meters.map(({ quarters }) => quarters));
    this.tempi.forEach(({ quarters, growth }, n) => {
      const end = growth === 0 ? quarters + 1 : this.tempi[n + 1]!.quarters;
      for (let at = quarters; at < end; at++) places.add(at);
    });
    return [...places].toSorted((a, b) => a - b).map((quarters) => this.stepAt(quarters));
  }

  private stepAt(quarters: number): TempoStep {
    const span = spanAt(this.tempi, quarters, (each) => each.quarters);
    const into = quarters - span.quarters;
    const { meter } = spanAt(this.meters, quarters, (each) => each.quarters);
    return { seconds: span.seconds + secondsInto(span, into), tempo: span.tempo + span.growth * into, meter };
  }
}
