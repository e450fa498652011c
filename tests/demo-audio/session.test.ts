import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { songFacts } from '../../demo-audio/generator/facts.ts';
import { parseSession } from '../../src/session/read/parse.ts';
import { presetOnChain } from '../../src/session/presets/preset-words.ts';
import { presets } from '../../src/session/presets/presets.ts';

const session = parseSession(readFileSync('demo-audio/session.json', 'utf8'), 'demo-audio/session.json');

/** The rough's pan law leaves a mono track in the middle at -3.01 dB, the session's at 0 dB. */
const PAN_LAW_DB = -3;

describe('the demo session', () => {
  it('holds every track of the song at the place and level that it has in the rough', () => {
    expect(session.tracks.map(({ id, name, file, gainDb, pan }) => ({ id, name, file, gainDb, pan }))).toEqual(
      songFacts.tracks.map(({ id, name, file, gainDb, pan, channels }) => ({
        id,
        name,
        file,
        gainDb: gainDb + (channels === 1 ? PAN_LAW_DB : 0),
        pan,
      })),
    );
  });

  it('has the song’s tempo, meter and sections', () => {
    const { title, artist, tempoBpm, beatsPerBar, beatUnit, sections } = songFacts;
    expect(session).toMatchObject({ title, artist, tempo: tempoBpm, meter: [beatsPerBar, beatUnit] });
    expect(session.sections).toEqual(
      sections.map(({ name, from, to }) => ({ name, startSeconds: from, endSeconds: to })),
    );
  });

  it('teaches with buses whose chains are presets', () => {
    const named = session.buses.map(({ chain }) => presetOnChain(presets, chain)?.name);
    expect(named).toEqual(
      expect.arrayContaining([
        'drum squeeze',
        'side spread',
        'midrange grit',
        'tape colour',
        'kick and snare crush',
        'quarter delay',
        'long plate',
      ]),
    );
    expect(named).not.toContain(undefined);
  });

  it('has a delay that feeds a plate, and tape colour beside the mix, not on it', () => {
    const delay = session.buses.find(({ id }) => id === 'quarter-delay');
    expect(delay?.sends.map(({ to }) => to)).toEqual(['long-plate']);
    expect(session.groups.every(({ sends }) => sends.some(({ to }) => to === 'tape-colour'))).toBe(true);
    expect(JSON.stringify(session.mixBus.chain)).not.toBe(
      JSON.stringify(session.buses.find(({ id }) => id === 'tape-colour')?.chain),
    );
  });
});
