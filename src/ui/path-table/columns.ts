import { PATH_DEFINITIONS } from '../../blend/ledger/path-definitions.ts';
import { DEFINITIONS } from '../../measure/definitions/definitions.ts';
import { shortLabel, type FigureDefinition } from '../../measure/definitions/figure-definition.ts';

/** The columns of the path table, in the order in which sound flows, with what each shows. */
export interface Column {
  readonly id: string;
  readonly label: string;
  readonly align: 'left' | 'right' | 'center';
  readonly definition: string;
  /** The figure that it is of. */
  readonly of?: FigureDefinition;
}

export const COLUMNS: readonly Column[] = [
  {
    id: 'path',
    label: 'Path',
    align: 'left',
    definition: 'A group or a parallel bus: one signal path into the mix. The coloured square mutes it.',
  },
  {
    id: 'fed',
    label: 'Fed by',
    align: 'left',
    definition: 'The tracks of a group, or the sends to a bus with their levels. Open it to change them.',
  },
  {
    id: 'chain',
    label: 'Chain',
    align: 'left',
    definition: 'The processors in order, each with the curve of its settings. Hollow ones are bypassed.',
  },
  {
    id: 'level',
    label: 'Level, dB',
    align: 'left',
    definition:
      'Fader of a group, blend of a bus, trim of the mix bus. Drag, use the arrow keys, or type; −∞ at the far left.',
  },
  {
    id: 'share',
    label: shortLabel(PATH_DEFINITIONS.shareOfLoudness),
    align: 'left',
    definition: '',
    of: PATH_DEFINITIONS.shareOfLoudness,
  },
  {
    id: 'loudness',
    label: 'Loudness',
    align: 'right',
    definition: 'Change in integrated loudness of the mix with the path against without it, LU.',
    of: DEFINITIONS.integratedLufs,
  },
  {
    id: 'crest',
    label: 'Crest',
    align: 'right',
    definition: 'Change in crest factor (peak over RMS), dB. Negative: the path makes the mix denser.',
    of: DEFINITIONS.crestDb,
  },
  {
    ...{ id: 'width', label: 'Width', align: 'right', definition: 'Change in side-to-mid ratio, dB.' },
    of: DEFINITIONS['stereo.sideToMidDb'],
  },
  {
    id: 'mono',
    label: DEFINITIONS['stereo.monoLossLu'].label,
    align: 'right',
    definition: 'Change in mono loss, LU. Negative: the mix loses more when it is played in mono.',
    of: DEFINITIONS['stereo.monoLossLu'],
  },
  {
    id: 'tone',
    label: 'Spectrum',
    align: 'center',
    definition: 'Change in each third octave, 20 Hz to 20 kHz, at the same scale in all rows.',
  },
  {
    id: 'aligned',
    label: 'Alignment',
    align: 'right',
    definition:
      'Whether a bus is sample-aligned and in polarity with its source in the mix; otherwise how late or early it is, in samples or ms.',
  },
];
