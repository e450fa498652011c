import type { Command } from 'commander';
import { basename, dirname } from 'node:path';
import { approval } from '../../engine/jobs/approval.ts';
import type { ApprovalSide } from '../../engine/questions.ts';
import { MP3_KBPS, type Mp3Kbps } from '../../files/mp3/mp3-write.ts';
import { requireNew, requireWritable, writeFilesWhole } from '../../files/node/node-files.ts';
import { described, listed, ProblemError } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';
import { ALLOW_OUTSIDE } from '../blend-options.ts';
import type { Console } from '../console.ts';
import { keepInputs } from '../keep-inputs.ts';
import { nameOption } from '../options.ts';
import { inputPaths } from '../session-on-disk.ts';
import { workplaceOf } from '../workplace.ts';

interface Options {
  readonly out: string;
  readonly versions: readonly string[];
  readonly section?: string;
  readonly blind?: true;
  readonly kbps: `${Mp3Kbps}`;
  readonly force?: true;
  readonly allowOutside?: true;
  readonly json?: true;
}

/** The requested versions: "rough", "mix", and passes by id or name. @throws ProblemError naming the first that does not exist */
const sidesOf = ({ passes, rough }: Session, asked: readonly string[]): ApprovalSide[] => {
  const sides = asked.map((name): ApprovalSide => {
    if (name === 'mix' || (name === 'rough' && rough)) return name;
    const pass = passes.find((each) => each.id === name || each.name === name);
    if (pass) return `pass:${pass.id}`;
    const expected = listed([...(rough ? ['rough'] : []), 'mix', ...passes.map(({ id }) => id)]);
    throw new ProblemError({ code: 'unknown-name', path: '--versions', expected, found: described(name) });
  });
  if (new Set(sides).size >= 2) return [...new Set(sides)];
  throw new ProblemError({
    code: 'mismatch',
    path: '--versions',
    expected: 'two versions or more',
    found: listed(asked),
  });
};

const runApproval = async (path: string, options: Options, console: Console): Promise<void> => {
  const { out, versions, blind, kbps } = options;
  let sides: readonly ApprovalSide[] = [];
  const place = await workplaceOf(path, options, console, async (session) => {
    sides = sidesOf(session, versions);
    await requireWritable(dirname(out));
    await keepInputs([out], inputPaths(session, path));
    if (!options.force)
      await requireNew(dirname(out), [basename(out)], 'another name, or --force to replace what is there');
  });
  const task = { sides, section: place.section, isBlind: blind === true, kbps: Number(kbps) as Mp3Kbps };
  const content = await place.answer('Rendering the versions', approval(await place.workshop(false), task));
  await writeFilesWhole(dirname(out), [{ name: basename(out), content }]);
  console.out(
    options.json
      ? `${JSON.stringify({ page: out, versions: sides, section: place.section?.name ?? null, blind: task.isBlind }, null, 2)}\n`
      : `Written: ${out} (${sides.length} versions, matched in loudness; a browser opens it, notes --import reads the answers)\n`,
  );
};

export const addApproval = (program: Command, console: Console): void => {
  program
    .command('approval')
    .description(
      'Writes one HTML file with versions of the song, matched in loudness, for the client to compare, comment on and approve. It plays in any browser.',
    )
    .argument('<session>', 'a session file; the sound files that it names are read too')
    .requiredOption('--out <file>', 'the page, .html')
    .requiredOption(
      '--versions <names>',
      'two or more of rough, mix and passes by id, separated by commas',
      (text: string) => text.split(',').map((name) => name.trim()),
    )
    .option('--section <name>', 'only this section of the song')
    .option('--blind', 'the names of the versions stay hidden until the answers are saved')
    .option(
      '--kbps <rate>',
      `bit rate of the MP3, one of ${MP3_KBPS.join(', ')}`,
      nameOption('--kbps', MP3_KBPS.map(String)),
      '192',
    )
    .option(...ALLOW_OUTSIDE)
    .option('--force', 'replaces a page that is there already')
    .option('--json', 'one JSON document')
    .action((path: string, options: Options) => runApproval(path, options, console));
};
