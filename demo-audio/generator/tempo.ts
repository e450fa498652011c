/** Samples per second of the whole song. */
export const sampleRate = 48_000;

export const tempoBpm = 96;
export const beatsPerBar = 4;
export const bars = 16;

/** Length of the song in frames: 16 bars of 2.5 s. */
export const songFrames = (bars * beatsPerBar * 60 * sampleRate) / tempoBpm;

/** Where the second sixteenth of a pair falls: 0.5 is straight, 2/3 a triplet. */
const swing = 0.56;

/** Moves a position in beats onto the swung grid; eighths stay where they are. */
const swung = (beats: number): number => {
  const eighths = beats * 2;
  const whole = Math.floor(eighths);
  const x = eighths - whole;
  const moved = x < 0.5 ? 2 * swing * x : swing + 2 * (1 - swing) * (x - 0.5);
  return (whole + moved) / 2;
};

/** Seconds from the start of the song to a beat (0-based, fractions allowed) of a bar (0-based). */
export const secondsAt = (bar: number, beat: number): number => (swung(bar * beatsPerBar + beat) * 60) / tempoBpm;

/** Nearest frame of a time in seconds. */
export const frameAt = (seconds: number): number => Math.round(seconds * sampleRate);

/** Frequency in Hz of a MIDI note number (69 is 440 Hz, equal temperament). */
export const hzOf = (midi: number): number => 440 * 2 ** ((midi - 69) / 12);
