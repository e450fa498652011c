import { expect, test } from 'vitest';
import { page } from 'vitest/browser';
import { savePass } from '../../../src/session/passes/passes.ts';
import { fakeSession } from './fake-session.ts';
import { accessibilityTroubles, openSong } from './open-screen.ts';

const openDialog = async () => {
  const session = fakeSession();
  const groups = session.groups.map((group, n) => ({ ...group, vocal: n === 4 }));
  const engine = await openSong(savePass({ ...session, groups }, 'Softer voice'));
  await page.getByRole('button', { name: 'Print …' }).click();
  return { engine, box: page.getByRole('dialog', { name: 'Print' }) };
};

test('a pass, a section, groups left out, pairs, deliveries, form and names are asked for as they are chosen', async () => {
  const { engine, box } = await openDialog();
  await box.getByLabelText('File format').selectOptions('FLAC');
  await expect.element(box.getByText('32 bit float')).not.toBeInTheDocument();
  await box.getByText('16 bit', { exact: true }).click();
  await box.getByRole('checkbox', { name: /^Noise-shaped dither/ }).click();
  await box.getByRole('checkbox', { name: /^Without lead vocals/ }).click();
  await box.getByRole('checkbox', { name: /^Bus returns alone/ }).click();
  await box.getByText('The mix without a group').click();
  await box.getByRole('checkbox', { name: 'Bass', exact: true }).first().click();
  await box.getByText('A path with its chain and without it').click();
  await box.getByRole('checkbox', { name: 'Drum squeeze' }).click();
  await box.getByLabelText('Version').selectOptions('Softer voice');
  await box.getByLabelText('Part of the song').selectOptions('Chorus (0:40–1:00)');
  await box.getByText('Several delivery targets').click();
  await box.getByRole('checkbox', { name: /^broadcast:/ }).click();
  await expect.element(box.getByRole('checkbox', { name: 'Loudness target' })).toBeDisabled();
  await box.getByLabelText('Template for names').fill('{kind} {loudness}');
  await expect.element(box.getByText('main … LUFS.flac')).toBeVisible();
  expect(await accessibilityTroubles()).toEqual([]);
  await box.getByRole('button', { name: 'Print', exact: true }).click();
  await expect.element(box.getByRole('row', { name: /without Bass/ })).toBeVisible();
  expect(engine.calls).toContainEqual([
    'print',
    {
      ...{ bits: '16', rate: null, form: 'flac', shaped: true, stemsTakeGain: false },
      ...{ kinds: ['main', 'without-lead', 'returns'], without: ['bass'], pairs: ['squeeze'], pass: 'softer-voice' },
      span: { name: 'Chorus', startSeconds: 40, endSeconds: 60 },
      targets: [{ name: 'broadcast', targetLufs: -23, ceilingDbtp: -1 }],
      ...{ names: '{kind} {loudness}', targetLufs: null, ceilingDbtp: null },
    },
  ]);
});

test('a template that cannot tell files apart is told of before anything is printed', async () => {
  const { box } = await openDialog();
  await box.getByLabelText('Template for names').fill('{title}');
  await expect.element(box.getByRole('alert')).toHaveTextContent('with {kind}, so that files differ');
  await expect.element(box.getByRole('button', { name: 'Print', exact: true })).toBeDisabled();
});
