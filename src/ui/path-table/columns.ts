import { PATH_DEFINITIONS } from '../../blend/ledger/path-definitions.ts';
import { DEFINITIONS } from '../../measure/definitions.ts';
import { shortLabel } from '../../measure/figure-definition.ts';

/** The columns of the path table, in the order in which sound flows, with what each shows. */
export interface Column {
  readonly id: string;
  readonly label: string;
  readonly align: 'left' | 'right' | 'center';
  readonly definition: string;
}

export const COLUMNS: readonly Column[] = [
  {
    id: 'path',
    label: 'Path',
    align: 'left',
    definition: 'What one group or one bus gives to the mix. The square switches it on and off.',
  },
  {
    id: 'fed',
    label: 'Fed by',
    align: 'left',
    definition: 'The tracks of a group, or what sends to a bus and how much. Open it to change them.',
  },
  {
    id: 'chain',
    label: 'Chain',
    align: 'left',
    definition: 'The processors in order, each with the curve of its settings. Hollow ones are off.',
  },
  {
    id: 'level',
    label: 'Blend, dB',
    align: 'left',
    definition:
      'How much of the path joins the mix. Drag, use the arrow keys, or type; at the far left the way is shut.',
  },
  {
    id: 'share',
    label: shortLabel(PATH_DEFINITIONS.shareOfLoudness),
    align: 'left',
    definition: `${PATH_DEFINITIONS.shareOfLoudness.label}: ${PATH_DEFINITIONS.shareOfLoudness.definition}`,
  },
  {
    id: 'loudness',
    label: 'Loudness',
    align: 'right',
    definition: 'Integrated loudness of the mix with the path, less without it, LU.',
  },
  {
    id: 'crest',
    label: 'Crest',
    align: 'right',
    definition: 'Change of peak over rms, dB. Below zero the path makes the mix denser.',
  },
  { id: 'width', label: 'Width', align: 'right', definition: 'Change of side over mid energy, dB.' },
  {
    id: 'fold',
    label: DEFINITIONS['stereo.monoLossLu'].label,
    align: 'right',
    definition: 'Change of what is lost on folding to mono (mono loss), LU. Below zero more is lost.',
  },
  {
    id: 'tone',
    label: 'Spectrum',
    align: 'center',
    definition: 'Change of each third-octave, 20 Hz to 20 kHz, on a scale that is the same in all rows.',
  },
  {
    id: 'aligned',
    label: 'Aligned',
    align: 'right',
    definition:
      'Whether the path meets what it doubles on the same sample and with the same polarity; how late or early in samples, where it is much in ms.',
  },
];
