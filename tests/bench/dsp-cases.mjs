/**
 * One processor at settings as they are used, beside what is nearest to it elsewhere.
 * @typedef {object} Case
 * @property {string} processor
 * @property {string} [note] what is set, if not what it starts with
 * @property {Record<string, number | string | boolean>} [settings] over its start settings
 * @property {string} [ffmpeg] the filter of ffmpeg that comes nearest
 * @property {string} [native] the node of Web Audio that comes nearest, see dsp-natives.mjs
 */

const bells = (/** @type {string} */ design) => ({
  design,
  ...Object.fromEntries(
    [1, 2, 3, 4, 5, 6].flatMap((n) => [
      [`band${n}.on`, true],
      [`band${n}.shape`, 'bell'],
      [`band${n}.gain`, 3],
      [`band${n}.q`, 1],
    ]),
  ),
});
const sixBells = [40, 100, 250, 600, 1500, 3500].map((hz) => `equalizer=f=${hz}:t=q:w=1:g=3`).join(',');

/** Processors that are not named here run with their start settings. @type {Case[]} */
export const cases = [
  { processor: 'gain', settings: { gain: -3 }, ffmpeg: 'volume=-3dB', native: 'gain' },
  { processor: 'eq', note: '6 bells, cookbook', settings: bells('cookbook'), ffmpeg: sixBells, native: 'six biquads' },
  { processor: 'eq', note: '6 bells, matched', settings: bells('matched'), ffmpeg: sixBells, native: 'six biquads' },
  {
    processor: 'eq',
    note: 'one dynamic band',
    settings: { 'band3.dynamic': 'down', 'band3.threshold': -40 },
    ffmpeg: 'adynamicequalizer',
  },
  {
    processor: 'compressor',
    settings: { threshold: -30 },
    ffmpeg: 'acompressor=threshold=-30dB:ratio=4',
    native: 'compressor',
  },
  {
    processor: 'compressor',
    note: 'auto make-up',
    settings: { threshold: -30, autoMakeUp: true },
    ffmpeg: 'acompressor=threshold=-30dB:ratio=4',
  },
  {
    processor: 'limiter',
    note: 'true peak, 12 dB of drive',
    settings: { drive: 12 },
    ffmpeg: 'aresample=192000,alimiter=level_in=4:limit=0.89:level=false,aresample=48000',
  },
  { processor: 'gate', ffmpeg: 'agate=threshold=0.01' },
  {
    processor: 'saturator',
    note: '4x',
    settings: { oversampling: '4x' },
    ffmpeg: 'asoftclip=type=tanh:oversample=4',
    native: 'shaper 4x',
  },
  { processor: 'tape', ffmpeg: 'asoftclip=type=tanh:oversample=4', native: 'shaper 4x' },
  { processor: 'exciter', ffmpeg: 'aexciter' },
  { processor: 'harshness-control', ffmpeg: 'deesser=i=0.5' },
  { processor: 'widener', ffmpeg: 'stereotools=slev=1.4' },
  { processor: 'widener', note: 'side only', settings: { decorrelation: 0 }, ffmpeg: 'extrastereo=m=1.4' },
  { processor: 'transient', ffmpeg: 'crystalizer' },
  { processor: 'sub-octave', ffmpeg: 'asubboost' },
  { processor: 'chorus', ffmpeg: 'chorus=0.7:0.9:20|25:0.4|0.3:0.25|0.4:2|2.3', native: 'chorus' },
  { processor: 'doubler', ffmpeg: 'chorus=0.7:0.9:20|25:0.4|0.3:0.25|0.4:2|2.3', native: 'chorus' },
  { processor: 'panner', native: 'panner' },
  { processor: 'delay', ffmpeg: 'aecho=0.8:0.9:375|750:0.4|0.2', native: 'echo' },
  { processor: 'reverb', note: 'plate', native: 'convolver' },
  { processor: 'reverb', note: 'hall', settings: { character: 'hall' }, native: 'convolver' },
  { processor: 'convolution', note: '2 s', ffmpeg: 'afir', native: 'convolver' },
];
