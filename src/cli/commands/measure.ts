import type { Command } from 'commander';
import type { MeasuredFile } from '../measure-file.ts';
import { measureFiles } from '../measure-threads.ts';
import { bandTable, figureTable } from '../tables.ts';
import type { Console } from '../console.ts';

/** "take.wav: 48000 Hz, 2 channels, 12.50 s" */
export const fileLine = ({ file, sampleRate, channels, seconds }: MeasuredFile): string =>
  `${file}: ${sampleRate} Hz, ${channels} ${channels === 1 ? 'channel' : 'channels'}, ${seconds.toFixed(2)} s`;

const blockOf = (measured: MeasuredFile, bands: boolean): string => {
  const figures = figureTable([{ heading: '', figures: measured, reasons: measured.reasons }]);
  return `${fileLine(measured)}\n${figures}${bands ? `\n${bandTable(measured.bands)}` : ''}`;
};

export const addMeasure = (program: Command, console: Console): void => {
  program
    .command('measure')
    .description('Figures of audio files: loudness, peaks, crest, stereo, spectrum.')
    .argument('<files...>', 'WAV, FLAC, MP3 or Ogg files')
    .option('--bands', 'the third octaves too, in the readable answer')
    .option('--json', 'one JSON document: an array with an object for each file')
    .action(async (files: string[], { json, bands }: { json?: true; bands?: true }) => {
      const all = await measureFiles(files, (file) => console.progress(`Measuring ${file}`));
      console.out(
        json ? `${JSON.stringify(all, null, 2)}\n` : all.map((each) => blockOf(each, bands === true)).join('\n'),
      );
    });
};
