import { hertz } from '../core/parameter-builders.ts';
import { HIGH_CUT_OFF, LOW_CUT_OFF } from './cut-filters.ts';
import type { NumberParameter } from '../core/parameter.ts';

type Group = Pick<NumberParameter, 'group'>;

/** Corner of a low cut, Hz; off at the lowest setting. */
export const lowCut = (about: string, maxHz = 2000, group: Group = {}): NumberParameter<'Hz'> =>
  hertz('Low cut', [LOW_CUT_OFF, maxHz], { ...group, default: LOW_CUT_OFF, about });

/** Corner of a high cut, Hz; off at the highest setting. */
export const highCut = (about: string, minHz = 500, group: Group = {}): NumberParameter<'Hz'> =>
  hertz('High cut', [minHz, HIGH_CUT_OFF], { ...group, default: HIGH_CUT_OFF, about });
