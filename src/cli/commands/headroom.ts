import type { Command } from 'commander';
import { basename, dirname } from 'node:path';
import { headroom } from '../../engine/jobs/headroom.ts';
import { requireWritable, writeFilesWhole } from '../../files/node/node-files.ts';
import { numberText } from '../../measure/definitions/figure-text.ts';
import { headroomOf, stageHeadroom, USUAL_HEADROOM_DB } from '../../session/headroom.ts';
import { ProblemError } from '../../session/problem.ts';
import { sessionText } from '../../session/read/serialize.ts';
import { ALLOW_OUTSIDE } from '../blend-options.ts';
import type { Console } from '../console.ts';
import { keepInputs } from '../keep-inputs.ts';
import { numberOption } from '../options.ts';
import { rebased } from '../rebased.ts';
import { inputPaths } from '../session-on-disk.ts';
import { workplaceOf } from '../workplace.ts';

interface Options {
  readonly leave: number;
  readonly out?: string;
  readonly allowOutside?: true;
  readonly json?: true;
}

/** Peak and headroom of the sum of all paths at a trim. */
interface Staging {
  readonly trimDb: number;
  readonly truePeakDbtp: number;
  readonly headroomDb: number;
}

const line = (word: string, { trimDb, truePeakDbtp, headroomDb }: Staging): string =>
  `${word}: trim ${numberText(trimDb, 2)} dB, true peak of the sum ${numberText(truePeakDbtp, 2)} dBTP, headroom ${numberText(headroomDb, 2)} dB\n`;

const runHeadroom = async (path: string, options: Options, console: Console): Promise<void> => {
  const { leave, out } = options;
  const place = await workplaceOf(path, options, console, async (parsed) => {
    if (out === undefined) return;
    await requireWritable(dirname(out));
    await keepInputs([out], inputPaths(parsed, path));
  });
  const { session } = place;
  const sumPeakDbtp = await place.answer('Measuring', headroom(await place.workshop(false)));
  if (sumPeakDbtp === null)
    throw new ProblemError({
      code: 'mismatch',
      path,
      expected: 'a mix that sounds',
      found: 'silence before the mix bus',
    });
  const staged = stageHeadroom(session, sumPeakDbtp, leave);
  if (out !== undefined) {
    const content = sessionText(rebased(staged, dirname(path), dirname(out)));
    await writeFilesWhole(dirname(out), [{ name: basename(out), content }]);
  }
  const staging = (trimDb: number): Staging => ({
    trimDb,
    truePeakDbtp: sumPeakDbtp + trimDb,
    headroomDb: headroomOf(sumPeakDbtp, trimDb),
  });
  const [before, after] = [staging(session.mixBus.trimDb), staging(staged.mixBus.trimDb)];
  const answer = {
    stage: 'after the trim, before the mix bus chain',
    leaveDb: leave,
    before,
    after,
    session: out ?? null,
  };
  console.out(
    options.json
      ? `${JSON.stringify(answer, null, 2)}\n`
      : `${line('Now', before)}${line('Staged', after)}${out === undefined ? '' : `Written: ${out}\n`}`,
  );
};

export const addHeadroom = (program: Command, console: Console): void => {
  program
    .command('headroom')
    .description(
      'Measures the headroom of the sum of all paths before the mix bus chain, and finds the trim that leaves the headroom asked for.',
    )
    .argument('<session>', 'a session file; the sound files that it names are read too')
    .option('--leave <dB>', 'headroom to leave, dB', numberOption('--leave', 'dB', 0, 40), USUAL_HEADROOM_DB)
    .option('--out <session>', 'write the session with that trim')
    .option(...ALLOW_OUTSIDE)
    .option('--json', 'one JSON document')
    .action((path: string, options: Options) => runHeadroom(path, options, console));
};
