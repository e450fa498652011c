/** Words that several definitions share. */

export const BS1770 = 'ITU-R BS.1770-5';
export const OWN = 'defined here';
export const PRACTICE = 'common practice';
export const SILENT = 'silence';
export const NOT_WEIGHTED = 'sample rate below 4 kHz, more than six channels';
export const NOT_TWO = 'any number of channels but two';
