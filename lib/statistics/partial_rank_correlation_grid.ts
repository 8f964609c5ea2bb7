import * as option from "../options.ts";
import type { Estimate } from "./estimate.ts";
import { partialRankCorrelation } from "./partial_rank_correlation.ts";
import { bootstrapRankCorrelations, leaveOneOutRankCorrelations } from "./rank_bootstrap.ts";
import { rankTable } from "./rank_resampling.ts";
import { resampledLimits } from "./resampled_limits.ts";
import { sharedRows, valuesAt } from "./shared_rows.ts";
import { DEFAULT_SEED } from "./default_seeds.ts";

/**
 * Which columns go with which targets beyond what one further column explains?
 *
 * The partial rank correlation of every pair over the rows that have all three values, with a BCa
 * bootstrap interval. One set of resamples serves all pairs over the same rows, which is what makes a
 * whole grid affordable; a single pair, or several controls, is `partialRankCorrelation`'s work.
 *
 * @param columns, targets, given lists over the same rows; null is a missing value
 * @returns estimates[column][target]; null with a reason as `partialRankCorrelation` gives it
 * @throws {RangeError} if lengths differ or a value is not finite
 * @see Kendall 1970, Rank Correlation Methods, chapter 8
 */
export function partialRankCorrelationGrid(
  columns: readonly (readonly (number | null)[])[],
  targets: readonly (readonly (number | null)[])[],
  given: readonly (number | null)[],
  { confidence = 0.95, resamples = 2000, seed = DEFAULT_SEED }: {
    readonly confidence?: number;
    readonly resamples?: number;
    readonly seed?: number;
  } = {},
): readonly (readonly Estimate[])[] {
  option.check("statistics.partialRankCorrelationGrid", arguments[3], {
    confidence: option.share,
    resamples: option.resamples,
    seed: option.seed,
  });
  const method = `partial Spearman's rho given 1 column, BCa bootstrap, ${resamples} resamples`;
  const cells = columns.map((x) =>
    targets.map((y): Estimate => {
      const { p: _, ...estimate } = partialRankCorrelation(x, y, [given], {
        interval: "none",
        confidence,
      });
      return { ...estimate, method };
    })
  );
  const masked = columns.map((x) => x.map((value, row) => given[row] === null ? null : value));
  for (const { rows, pairs } of sharedRows(masked, targets)) {
    const usable = pairs.filter(({ column, target }) => cells[column][target].estimate !== null);
    if (usable.length === 0 || rows.length < 5) continue;
    const columnIds = [...new Set(usable.map((pair) => pair.column))];
    const targetIds = [...new Set(usable.map((pair) => pair.target))];
    const control = valuesAt(given, rows);
    // The control stands on both sides, so that one table holds all three kinds of correlation.
    const table = rankTable(
      [...columnIds.map((id) => valuesAt(columns[id], rows)), control],
      [...targetIds.map((id) => valuesAt(targets[id], rows)), control],
      rows.length,
    );
    const drawn = bootstrapRankCorrelations(table, { resamples, seed }).values;
    const left = leaveOneOutRankCorrelations(table).values;
    const wide = targetIds.length + 1;
    for (const { column, target } of usable) {
      const j = columnIds.indexOf(column);
      const t = targetIds.indexOf(target);
      const partialsOf = (values: Float64Array, length: number) =>
        partials(
          values.subarray((j * wide + t) * length, (j * wide + t + 1) * length),
          values.subarray((j * wide + wide - 1) * length, (j * wide + wide) * length),
          values.subarray(
            (columnIds.length * wide + t) * length,
            (columnIds.length * wide + t + 1) * length,
          ),
        );
      const { estimate, ...about } = cells[column][target];
      const limits = resampledLimits(partialsOf(drawn, resamples), {
        estimate: estimate!,
        jackknife: partialsOf(left, rows.length),
        method: "bca",
        confidence,
      });
      cells[column][target] = {
        ...about,
        estimate,
        lower: limits.lower,
        upper: limits.upper,
        warnings: [...about.warnings, ...limits.warnings],
      };
    }
  }
  return cells;
}

function partials(xy: Float64Array, xz: Float64Array, yz: Float64Array): Float64Array {
  return xy.map((rho, b) => {
    const left = (1 - xz[b] * xz[b]) * (1 - yz[b] * yz[b]);
    return left > 1e-12 ? Math.min(1, Math.max(-1, (rho - xz[b] * yz[b]) / Math.sqrt(left))) : NaN;
  });
}
