import { describe, expect, it } from 'vitest';
import { removeBus, setBlend, setRough, setSend, setTrim } from '../../../src/session/edits/edits.ts';
import { record, startHistory, undo } from '../../../src/session/history.ts';
import { parseSession, problemsOf } from '../../../src/session/read/parse.ts';
import { changePass, deletePass, filesOfPasses, restorePass, savePass } from '../../../src/session/passes/passes.ts';
import type { Session } from '../../../src/session/schema.ts';
import { sessionText } from '../../../src/session/read/serialize.ts';
import { problemFrom, sessionFile, smallSession } from '../../helpers/session-file.ts';

const withPass = (): Session => savePass(smallSession(), ' First pass ', 'after lunch');

describe('a pass', () => {
  it('keeps the mix in hand under an id from its name', () => {
    const session = withPass();
    const [pass] = session.passes;
    expect(pass).toMatchObject({ id: 'first-pass', name: 'First pass', note: 'after lunch' });
    expect(pass).toMatchObject({ tracks: session.tracks, buses: session.buses, mixBus: session.mixBus });
    expect(savePass(session, 'first pass').passes.map(({ id }) => id)).toEqual(['first-pass', 'first-pass-2']);
  });

  it('is not touched by later edits', () => {
    const later = removeBus(setTrim(withPass(), -3), 'squeeze');
    expect(later.passes[0]!.buses.map(({ id }) => id)).toEqual(['squeeze', 'echo', 'plate']);
    expect(later.passes[0]!.mixBus.trimDb).toBe(0);
  });

  it('is taken back whole, in one step of undo, and stays in the list', () => {
    const saved = withPass();
    const changed = removeBus(setBlend(setTrim(saved, -3), 'echo', -40), 'squeeze');
    const history = record(startHistory(changed), restorePass(changed, 'first-pass'), 'take back First pass');
    const { present } = history;
    expect({ ...present, passes: [] }).toEqual({ ...saved, passes: [] });
    expect(present.passes).toBe(saved.passes);
    expect(undo(history).present).toBe(changed);
  });

  it('keeps what the rough does as a source, and the rough’s file stays that of the session', () => {
    const session = setSend(setRough(smallSession(), 'rough.wav'), 'rough', 'plate', { levelDb: -9 });
    const saved = savePass(session, 'With rough');
    const later = savePass(removeBus(setRough(saved, 'newer.wav'), 'plate'), 'Without plate');
    expect(later.rough!.sends).toEqual([]);
    const back = restorePass(later, 'with-rough');
    expect(back.rough).toMatchObject({ file: 'newer.wav', sends: [{ to: 'plate', levelDb: -9 }] });
    expect(problemsOf(restorePass(back, 'without-plate'))).toEqual([]);
    expect(restorePass(setRough(back, null), 'with-rough').rough).toBeNull();
  });

  it('taken back where nothing has changed is no edit', () => {
    const session = withPass();
    expect(restorePass(session, 'first-pass')).toBe(session);
  });

  it('is renamed, noted and deleted', () => {
    const session = withPass();
    expect(changePass(session, 'first-pass', { name: 'Drier ' }).passes[0]).toMatchObject({
      id: 'first-pass',
      name: 'Drier',
    });
    expect(changePass(session, 'first-pass', { note: 'louder bass' }).passes[0]!.note).toBe('louder bass');
    expect(changePass(session, 'first-pass', { name: 'First pass' })).toBe(session);
    expect(deletePass(session, 'first-pass').passes).toEqual([]);
    expect(problemFrom(() => changePass(session, 'first-pass', { name: ' ' }))).toMatchObject({
      path: 'passes[0].name',
    });
    expect(problemFrom(() => savePass(session, ''))).toMatchObject({ path: 'passes[1].name' });
    expect(() => deletePass(session, 'second')).toThrow(RangeError);
  });

  it('survives the way through a file', () => {
    const session = withPass();
    expect(parseSession(sessionText(session), 'song.json')).toEqual(session);
  });

  it('names its own files', () => {
    const session = withPass();
    const moved = { ...session, tracks: session.tracks.map((track) => ({ ...track, file: 'tracks/new.wav' })) };
    expect(filesOfPasses(moved)).toEqual(['tracks/kick.wav', 'tracks/voice.wav']);
  });
});

type Loose = Record<string, unknown> & { readonly id?: string };
const fileWith = (passes: readonly Loose[], trials: readonly Loose[] = []): unknown => {
  const file = sessionFile() as Loose;
  const mix = { tracks: file['tracks'], groups: file['groups'], buses: file['buses'] };
  return { ...file, passes: passes.map((pass) => ({ id: 'one', name: 'One', ...mix, ...pass })), trials };
};
const faults = (passes: readonly Loose[], trials: readonly Loose[] = []): string[] =>
  problemsOf(fileWith(passes, trials)).map(({ code, path }) => `${code} ${path}`);

describe('what is wrong with passes and trials is told where it stands', () => {
  const path = (id: string, more: Loose = {}): Loose => ({ id, name: id, ...more });

  it('a sound pass has no fault', () => {
    expect(faults([{}])).toEqual([]);
  });

  it('targets, keys, processors and settings of a pass', () => {
    const groups = [path('drums', { sends: [{ to: 'gone' }], key: 'nobody' }), path('voices')];
    const chain = [{ processor: 'gain', settings: { gain: 99 } }, { processor: 'loudener' }];
    expect(faults([{}, { id: 'two', groups, buses: [], mixBus: { chain } }])).toEqual([
      'missing-target passes[1].groups[0].key',
      'missing-target passes[1].groups[0].sends[0].to',
      'out-of-range passes[1].mixBus.chain[0].settings.gain',
      'unknown-processor passes[1].mixBus.chain[1].processor',
    ]);
  });

  it('a bus of the mix in hand is none of a pass', () => {
    expect(faults([{ buses: [] }])[0]).toBe('missing-target passes[0].groups[0].sends[0].to');
  });

  it('sound that runs in a circle within a pass', () => {
    const buses = [
      path('squeeze'),
      path('echo', { sends: [{ to: 'plate' }] }),
      path('plate', { sends: [{ to: 'echo' }] }),
    ];
    expect(faults([{ buses }])).toEqual(['cycle passes[0].buses[2].sends[0].to']);
  });

  it('ids that are given twice, in a pass and among passes and trials', () => {
    const trial = { id: 't', kind: 'abx', a: 'rough', b: 'mix', planned: 2, seed: 1, answers: [] };
    expect(faults([{ groups: [path('drums'), path('voices')], buses: [path('drums')] }])).toEqual([
      'duplicate-id passes[0].buses[0].id',
    ]);
    expect(faults([{}, {}], [trial, trial])).toEqual(['duplicate-id passes[1].id', 'duplicate-id trials[1].id']);
  });

  it('a track of a pass that names no file', () => {
    expect(faults([{ tracks: [path('kick', { group: 'drums' })] }])).toEqual([
      'missing-field passes[0].tracks[0].file',
    ]);
  });

  it('answers of the wrong kind, and more than were planned', () => {
    const trial = { id: 't', kind: 'abx', a: 'rough', b: 'mix', planned: 2, seed: 1 };
    expect(faults([], [{ ...trial, answers: ['right', 'a'] }])).toEqual(['unknown-name trials[0].answers[1]']);
    expect(faults([], [{ ...trial, answers: ['right', 'right', 'wrong'] }])).toEqual([
      'out-of-range trials[0].answers',
    ]);
  });
});
