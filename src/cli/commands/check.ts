import type { Command } from 'commander';
import { GUARD_DEFINITIONS, type GuardResult } from '../../blend/guards/guards.ts';
import { check } from '../../engine/jobs/check.ts';
import { numberText } from '../../measure/definitions/figure-text.ts';
import { roughWords } from '../../session/rough-source.ts';
import { BEFORE_MIX_BUS, withBlendOptions, type BlendOptions } from '../blend-options.ts';
import type { Console } from '../console.ts';
import { GuardFailed } from '../guard-failed.ts';
import { aligned } from '../tables.ts';
import { workplaceOf } from '../workplace.ts';

/** One guard as the answer has it: judged on the print, but for the balance, which is that of the paths. */
interface CheckedGuard extends GuardResult {
  readonly source: string;
  readonly stage: 'printed' | typeof BEFORE_MIX_BUS;
}

interface CheckAnswer {
  readonly section: string | null;
  readonly references: readonly string[];
  readonly guards: readonly CheckedGuard[];
  readonly pass: boolean;
  /** Notes on the mix beside its guards, one sentence each. */
  readonly notes: readonly string[];
}

const verdict = ({ value, pass }: GuardResult): string => (value === null ? 'not judged' : pass ? 'kept' : 'BROKEN');

const readable = ({ section, references, guards, pass, notes }: CheckAnswer): string =>
  [
    `Compared with ${references.map((name) => `the ${name}`).join(' and ')}${section === null ? '' : `, section "${section}"`}\n`,
    aligned(
      [
        ['Guard', 'value', 'limit', '', '', ''],
        ...guards.map((guard) => {
          const { decimals } = GUARD_DEFINITIONS[guard.name];
          const limit = `${guard.bound} ${numberText(guard.limit, decimals)}`;
          return [guard.name, numberText(guard.value, decimals), limit, guard.unit, verdict(guard), guard.stage];
        }),
      ],
      [3, 4, 5],
    ),
    guards
      .filter((guard) => guard.value === null || !guard.pass)
      .map(({ sentence }) => `${sentence}\n`)
      .join(''),
    notes.map((note) => `${note}\n`).join(''),
    pass ? 'Every guard is kept.\n' : 'Not every guard is kept.\n',
  ]
    .filter((part) => part !== '')
    .join('\n');

const runCheck = async (path: string, options: BlendOptions, console: Console): Promise<void> => {
  const place = await workplaceOf(path, options, console);
  const workshop = await place.workshop(false);
  const found = await place.answer('Measuring', check(workshop, { section: place.section }));
  const results = found.guards.map((result): CheckedGuard => {
    const { source } = workshop.guards.find(({ guard }) => guard === result.name)!;
    return { ...result, source, stage: result.name === 'balance drift' ? BEFORE_MIX_BUS : 'printed' };
  });
  const answer: CheckAnswer = {
    section: options.section ?? null,
    references: found.references,
    guards: results,
    pass: results.every(({ pass }) => pass),
    notes: [roughWords(place.session)].filter((words) => words !== null),
  };
  console.out(options.json ? `${JSON.stringify(answer, null, 2)}\n` : readable(answer));
  if (!answer.pass) throw new GuardFailed();
};

export const addCheck = (program: Command, console: Console): void => {
  withBlendOptions(
    program
      .command('check')
      .description(
        'Judges the guards: limits that the mix must keep, most of them against the rough and the mix as received. Exit 1 when one is broken.',
      )
      .argument('<session>', 'a session file; the sound files that it names are read too'),
  ).action((path: string, options: BlendOptions) => runCheck(path, options, console));
};
