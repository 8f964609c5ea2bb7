import { randomStream } from "./random_stream.ts";
import {
  carrierCount,
  countDraws,
  emptyResample,
  loadCarriers,
  rankResample,
  type RankTable,
  type Resample,
  sumProducts,
  unloadCarriers,
} from "./rank_resampling.ts";

/** Spearman correlations of every column with every target, in many resamples of the rows. */
type ResampledCorrelations = {
  /** Resample b of column j with target t stands at (j·targets + t)·resamples + b; NaN where constant. */
  readonly values: Float64Array;
  readonly resamples: number;
};

/** One stream for the bootstrap of every set of n rows, whatever columns are asked for. */
const BOOTSTRAP_STREAM = 1;
const BLOCK = 256;

/**
 * How do all correlations move when the rows are drawn anew?
 *
 * One resample serves all pairs, and is a vector of counts: nothing is sorted again.
 */
export function bootstrapRankCorrelations(
  table: RankTable,
  { resamples, seed }: { readonly resamples: number; readonly seed: number },
): ResampledCorrelations {
  const { n } = table;
  const work = workspace(table);
  const values = new Float64Array(work.rho.length * resamples);
  const stream = randomStream(seed, BOOTSTRAP_STREAM, n);
  const draws = new Uint16Array(BLOCK * n);
  for (let done = 0; done < resamples; done += BLOCK) {
    stream.fillIntegers(draws, n);
    const block = Math.min(BLOCK, resamples - done);
    for (let b = 0; b < block; b++) {
      const m = countDraws(draws, b * n, n, work.resample);
      correlate(table, work, m, n);
      scatter(work.rho, values, resamples, done + b);
    }
  }
  return { values, resamples };
}

/** All correlations with each row left out in turn, laid out as the resamples are. */
export function leaveOneOutRankCorrelations(table: RankTable): ResampledCorrelations {
  const { n } = table;
  const work = workspace(table);
  const values = new Float64Array(work.rho.length * n);
  work.resample.counts.fill(1);
  for (let left = 0; left < n; left++) {
    for (let i = 0; i < n - 1; i++) work.resample.drawn[i] = i < left ? i : i + 1;
    correlate(table, work, n - 1, n - 1);
    scatter(work.rho, values, n, left);
  }
  return { values, resamples: n };
}

type Workspace = {
  readonly resample: Resample;
  readonly carriers: number;
  readonly carried: Float64Array;
  readonly sums: Float64Array;
  readonly scale: Float64Array;
  readonly rho: Float64Array;
};

function workspace(table: RankTable): Workspace {
  const carriers = carrierCount(table);
  return {
    resample: emptyResample(table),
    carriers,
    carried: new Float64Array(table.n * carriers),
    sums: new Float64Array(table.padded * carriers),
    scale: new Float64Array(table.width),
    rho: new Float64Array(table.columnCount * table.targetCount),
  };
}

/** Correlations of one resample. A constant column has scale ∞ and sum 0, which makes NaN. */
function correlate(table: RankTable, work: Workspace, m: number, total: number): void {
  const { padded, width, columnCount, targetCount } = table;
  const { resample, carriers, carried, sums, scale, rho } = work;
  rankResample(table, resample, m, total);
  loadCarriers(table, resample, m, carriers, carried);
  sumProducts(resample.ranks, width, padded, carried, carriers, m, sums);
  unloadCarriers(sums, carriers, columnCount, targetCount, rho);
  const { squares } = resample;
  for (let place = 0; place < width; place++) scale[place] = 1 / Math.sqrt(squares[place]);
  for (let j = 0, k = 0; j < columnCount; j++) {
    for (let t = 0; t < targetCount; t++, k++) rho[k] *= scale[j] * scale[padded + t];
  }
}

function scatter(rho: Float64Array, values: Float64Array, resamples: number, b: number): void {
  for (let k = 0, to = b; k < rho.length; k++, to += resamples) values[to] = rho[k];
}
