import { area } from 'd3-shape';

/** The chart shows at least so much, and grows in such steps, dB. */
const STEP_DB = 6;

/** How far down the chart reaches, dB. */
export const depthOf = (reductionDb: Float32Array): number =>
  STEP_DB * Math.max(1, Math.ceil(mostOf(reductionDb) / STEP_DB));

export const mostOf = (reductionDb: Float32Array): number => reductionDb.reduce((a, b) => Math.max(a, b), 0);

/** The largest value of each of at most `columns` columns. */
export const columnsOf = (values: Float32Array, columns: number): number[] => {
  const count = Math.max(1, Math.min(values.length, Math.floor(columns)));
  return Array.from({ length: count }, (_, n) =>
    mostOf(values.subarray(Math.floor((n * values.length) / count), Math.floor(((n + 1) * values.length) / count))),
  );
};

/** What is turned down, hanging from the top of a chart. */
export const reductionArea = (reductionDb: Float32Array, depth: number, width: number, height: number): string => {
  const columns = columnsOf(reductionDb, width);
  const tenth = (px: number): number => Math.round(px * 10) / 10;
  const path = area<number>(
    (_, n) => tenth(((n + 0.5) / columns.length) * width),
    0,
    (db) => tenth((Math.min(db, depth) / depth) * height),
  );
  return path(columns) ?? '';
};
