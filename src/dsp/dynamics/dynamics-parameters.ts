import { choice, milliseconds, percent } from '../core/parameter-builders.ts';
import type { ChoiceParameter, NumberParameter } from '../core/parameter.ts';

// Parameters shared by compressor, gate, limiter and transient shaper.

/** Look-ahead of the detector. */
export const lookAhead = milliseconds('Look-ahead', [0, 20], {
  digits: 1,
  about: 'Time by which the detector is ahead of the gain; adds as much latency.',
});

/** @param about what each channel follows; the effect of a full link is added to the text */
export const stereoLink = (about: string): NumberParameter<'%'> =>
  percent('Stereo link', [0, 100], { default: 100, about: `${about}; 100 % keeps the stereo image still.` });

/** Group of the parameters that shape the detector signal. */
export const SIDE_CHAIN = { group: 'Side-chain' } as const;

/** @param about effect of the side-chain; its choices are added to the text */
export const sideChain = (about: string): ChoiceParameter<readonly ['internal', 'external']> =>
  choice('Side-chain', ['internal', 'external'], {
    ...SIDE_CHAIN,
    about: `${about}: the input (internal) or the key input (external; silent while none is connected).`,
  });

/** True where the side-chain is the key input. */
export const followsKey = (values: { readonly sideChain: number }): boolean => values.sideChain === 1;
