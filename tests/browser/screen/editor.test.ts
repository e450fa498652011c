import { describe, expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import type { Parameter } from '../../../src/dsp/core/parameter.ts';
import { processors } from '../../../src/dsp/core/registry.ts';
import type { Session } from '../../../src/session/schema.ts';
import { groupsOf } from '../../../src/ui/workbench/parameter-groups.ts';
import { firstProcessor, processorItem } from '../../helpers/chain-items.ts';
import { isTwin } from '../../helpers/corners.ts';
import { isSoaking } from '../../helpers/soak.ts';
import { fakeSession } from './fake-session.ts';
import { lastSession, openSong } from './open-screen.ts';

const withChain = (processor: string): Session => {
  const session = fakeSession();
  const bus = { ...session.buses[0]!, chain: [processorItem(processor)] };
  return { ...session, buses: [bus, ...session.buses.slice(1)] };
};

const panel = () => page.getByRole('region', { name: 'Workbench: Drum squeeze' });

/** Moves one control by one step of the keyboard or one choice. */
const move = async (parameter: Parameter): Promise<void> => {
  if (parameter.kind === 'number') {
    const slider = panel().getByRole('slider', { name: parameter.label, exact: true }).element() as HTMLElement;
    slider.focus();
    await userEvent.keyboard(parameter.default < parameter.max ? '{ArrowRight}' : '{ArrowLeft}');
  } else if (parameter.kind === 'switch') {
    (panel().getByRole('switch', { name: parameter.label, exact: true }).element() as HTMLElement).click();
  } else {
    const other = parameter.choices.find((choice) => choice !== parameter.default)!;
    const select = panel().getByRole('combobox', { name: parameter.label, exact: true });
    if (select.elements().length > 0) await select.selectOptions(other);
    else
      (
        panel()
          .getByRole('group', { name: parameter.label, exact: true })
          .getByRole('radio', { name: other, exact: true })
          .element() as HTMLElement
      ).click();
  }
};

describe.each([...processors.values()].map((processor) => ({ id: processor.id, processor })))(
  'the editor of $id',
  ({ id, processor }) => {
    test('draws the picture with its axes, and has a control for every parameter, each of which changes just its own setting', async () => {
      const engine = await openSong(withChain(id));
      await page.getByRole('button', { name: `${processor.label} of Drum squeeze` }).click();
      await expect
        .poll(() => panel().element().querySelectorAll('svg.axes .line, svg.axes .area, svg.axes .stem').length)
        .toBeGreaterThan(0);
      expect(panel().element().querySelectorAll('svg.axes text').length).toBeGreaterThan(5);
      const groups = groupsOf(processor.parameters);
      for (const { name, parameters } of groups) {
        if (groups.length > 1)
          await panel()
            .getByRole('tab', { name: new RegExp(`^${name || 'Main'}`) })
            .click();
        // The bands of the EQ are all alike: of the others than the first one parameter stands for all; when soaking each.
        const tried = parameters.filter(([name], n) => isSoaking || n === 0 || !isTwin(name));
        for (const [parameterId, parameter] of tried) {
          const before =
            'apply' in Object.fromEntries(engine.calls)
              ? firstProcessor(lastSession(engine).buses[0]!.chain).settings
              : {};
          await move(parameter);
          const { [parameterId]: setting, ...others } = firstProcessor(lastSession(engine).buses[0]!.chain).settings;
          expect(setting, parameterId).not.toBe(parameter.default);
          const othersBefore = Object.fromEntries(Object.entries(before).filter(([id]) => id !== parameterId));
          expect(others).toEqual(othersBefore);
        }
      }
    });
  },
);

test('a value is typed with its unit, kept within its range, and a double click brings the default back', async () => {
  const engine = await openSong(withChain('compressor'));
  await page.getByRole('button', { name: 'Compressor of Drum squeeze' }).click();
  const field = panel().getByRole('textbox', { name: 'Threshold value' });
  const threshold = (): unknown => firstProcessor(lastSession(engine).buses[0]!.chain).settings['threshold'];
  await field.fill('-18 dB');
  await userEvent.keyboard('{Enter}');
  expect(threshold()).toBe(-18);
  await field.fill('-1000');
  await userEvent.keyboard('{Enter}');
  const { min, default: usual } = processors.get('compressor')!.parameters['threshold'] as {
    min: number;
    default: number;
  };
  expect(threshold()).toBe(min);
  await userEvent.dblClick(panel().getByRole('slider', { name: 'Threshold', exact: true }));
  expect(threshold()).toBe(usual);
});

test('a time that takes note values is set to one, and let go again where it stood', async () => {
  const owner = [...processors.values()].flatMap(({ id, label, parameters }) =>
    Object.entries(parameters).flatMap(([name, parameter]) =>
      parameter.kind === 'number' && parameter.noteValues ? [{ id, label, name, parameter }] : [],
    ),
  )[0]!;
  const engine = await openSong(withChain(owner.id));
  await page.getByRole('button', { name: `${owner.label} of Drum squeeze` }).click();
  const group = owner.parameter.group;
  if (group)
    await panel()
      .getByRole('tab', { name: new RegExp(`^${group}`) })
      .click();
  const select = panel().getByRole('combobox', { name: `${owner.parameter.label} as a note value` });
  const setting = (): unknown => firstProcessor(lastSession(engine).buses[0]!.chain).settings[owner.name];
  await select.selectOptions('1/16');
  expect(setting()).toBe('1/16');
  await select.selectOptions('free');
  // A sixteenth at 96 quarters a minute.
  expect(setting()).toBeCloseTo(156.3, 1);
});

test('a slider that is dragged with Shift goes a tenth of the way, as one step of undo', async () => {
  const engine = await openSong();
  await page.getByRole('button', { name: 'Compressor of Drum squeeze' }).click();
  const slider = panel().getByRole('slider', { name: 'Threshold', exact: true }).element() as HTMLElement;
  slider.setPointerCapture = () => undefined;
  const at = (type: string, clientX: number): boolean =>
    slider.dispatchEvent(new PointerEvent(type, { clientX, shiftKey: true, bubbles: true, cancelable: true }));
  const { left, width } = slider.getBoundingClientRect();
  const threshold = (): unknown => {
    const item = lastSession(engine).buses[0]!.chain[1]!;
    return 'settings' in item ? item.settings['threshold'] : null;
  };
  at('pointerdown', left);
  at('pointermove', left + width / 4);
  at('pointermove', left + width / 2);
  at('pointerup', left + width / 2);
  // Half of the way is 30 of 60 dB: a tenth of that is 3 dB, from -31.
  expect(threshold()).toBe(-28);
  await userEvent.keyboard('{Control>}z{/Control}');
  expect(threshold()).toBe(-31);
});
