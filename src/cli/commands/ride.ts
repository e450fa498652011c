import { basename, dirname } from 'node:path';
import type { Command } from 'commander';
import type { RideFigures } from '../../blend/ride/ride.ts';
import { ride, type Ridden } from '../../engine/jobs/ride.ts';
import { requireWritable, writeFilesWhole } from '../../files/node/node-files.ts';
import { numberText } from '../../measure/definitions/figure-text.ts';
import { pointsText, targetTitle } from '../../session/lines/line-words.ts';
import { ProblemError } from '../../session/problem.ts';
import { sessionText } from '../../session/read/serialize.ts';
import { ALLOW_OUTSIDE } from '../blend-options.ts';
import type { Console } from '../console.ts';
import { keepInputs } from '../keep-inputs.ts';
import { numberOption } from '../options.ts';
import { rebased } from '../rebased.ts';
import { inputPaths } from '../session-on-disk.ts';
import { aligned } from '../tables.ts';
import { workplaceOf, type PlaceOptions } from '../workplace.ts';
import { requirePath } from './ledger.ts';

interface RideOptions extends Omit<PlaceOptions, 'guards'> {
  readonly path: string;
  readonly low: number;
  readonly high: number;
  readonly rate: number;
  readonly out?: string;
  readonly json?: true;
}

/** Fastest fader move that is not heard as a move, dB a second (common practice). */
export const USUAL_RATE = 2;

const share = ({ withinShare }: RideFigures): string =>
  withinShare === null ? '-' : `${numberText(100 * withinShare, 1)} %`;

const readable = ({ session, line, before, after }: Ridden, { low, high }: RideOptions): string =>
  [
    `${targetTitle(session, line.target)}: ${line.points.length} points\n`,
    aligned([
      ['Short-term loudness', 'lowest LUFS', 'highest LUFS', `within ${low} to ${high} LUFS`],
      ...Object.entries({ before, after }).map(([when, figures]) => [
        ...[when, numberText(figures.lowestLufs, 2), numberText(figures.highestLufs, 2), share(figures)],
      ]),
    ]),
    `${pointsText(session, line)}\n`,
    'Figures are of the path at the mix bus, where it is above the gates (-70 LUFS, and 20 LU below its mean).\n',
  ].join('\n');

const runRide = async (file: string, options: RideOptions, console: Console): Promise<void> => {
  const { path, low, high, rate, out } = options;
  if (low >= high) {
    const expected = `less than --high, ${high} LUFS`;
    throw new ProblemError({ code: 'out-of-range', path: '--low', expected, found: `${low} LUFS` });
  }
  const place = await workplaceOf(file, options, console, async (parsed) => {
    requirePath(parsed, path);
    if (out === undefined) return;
    await requireWritable(dirname(out));
    await keepInputs([out], inputPaths(parsed, file));
  });
  const task = { path, low, high, rate, section: place.section };
  const ridden = await place.answer('Riding', ride(await place.workshop(true), task));
  if (out !== undefined) {
    const content = sessionText(rebased(ridden.session, dirname(file), dirname(out)));
    await writeFilesWhole(dirname(out), [{ name: basename(out), content }]);
  }
  const { line, before, after } = ridden;
  const answer = {
    ...{ path, low, high, rate, section: options.section ?? null, line, before, after },
    ...(out === undefined ? {} : { session: out }),
  };
  console.out(options.json ? `${JSON.stringify(answer, null, 2)}\n` : readable(ridden, options));
};

export const addRide = (program: Command, console: Console): void => {
  program
    .command('ride')
    .description('Makes a line of a fader or blend that keeps the short-term loudness of a path within a range.')
    .argument('<session>', 'a session file; the sound files that it names are read too')
    .requiredOption('--path <id>', 'the group or bus')
    .requiredOption('--low <LUFS>', 'lowest short-term loudness', numberOption('--low', 'LUFS', -70, 0))
    .requiredOption('--high <LUFS>', 'highest short-term loudness', numberOption('--high', 'LUFS', -70, 0))
    .option('--rate <dB>', 'fastest move of the fader, dB a second', numberOption('--rate', 'dB', 0.05, 60), USUAL_RATE)
    .option(
      '--section <name>',
      'ride in this section of the session only; the line begins and ends at the level of the fader',
    )
    .option('--out <session>', 'write the session with the line')
    .option(...ALLOW_OUTSIDE)
    .option('--json', 'one JSON document')
    .addHelpText(
      'after',
      `
The line stands in for the fader (or blend), and starts from where that stands; a line that it had is replaced over what is ridden.
What is more than 20 LU below the mean of the path is not ridden. Where the range cannot be kept at this rate, the answer says
how much of the time is within it.`,
    )
    .action((file: string, options: RideOptions) => runRide(file, options, console));
};
