import { choice, milliseconds, percent } from '../core/parameter-builders.ts';
import type { ChoiceParameter, NumberParameter } from '../core/parameter.ts';

// What compressor, gate, limiter and transient shaper have in common.

/** By how much the detector is ahead of the gain. */
export const lookAhead = milliseconds('Look-ahead', [0, 20], {
  digits: 1,
  about: 'Time by which the detector is ahead of the gain; adds as much latency.',
});

/** @param about what each channel follows; what a full link does is added to it */
export const stereoLink = (about: string): NumberParameter<'%'> =>
  percent('Stereo link', [0, 100], { default: 100, about: `${about}; 100 % keeps the stereo image still.` });

/** Group of all that shapes what the detector hears. */
export const SIDE_CHAIN = { group: 'Side-chain' } as const;

/** @param about what the side-chain does; what it may be is added to it */
export const sideChain = (about: string): ChoiceParameter<readonly ['internal', 'external']> =>
  choice('Side-chain', ['internal', 'external'], {
    ...SIDE_CHAIN,
    about: `${about}: the input (internal) or the key input (external; silent while none is connected).`,
  });

/** True where the side-chain is the key input. */
export const followsKey = (values: { readonly sideChain: number }): boolean => values.sideChain === 1;
