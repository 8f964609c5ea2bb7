import * as option from "../options.ts";
import { noCorrelationReason } from "./complete_pairs.ts";
import { bootstrapRankCorrelations } from "./rank_bootstrap.ts";
import { rankTable } from "./rank_resampling.ts";
import { sharedRows, valuesAt } from "./shared_rows.ts";

/**
 * What are the rank correlations of every column with every target in resamples of the rows?
 *
 * For further arithmetic with correlations; for their limits take `rankCorrelationGrid`. Pairs over the
 * same rows share their resamples.
 *
 * @param columns, targets lists over the same rows; null is a missing value
 * @returns draws[column][target]: one correlation a resample, NaN where it has none; null for a pair
 *   without a correlation
 */
export function rankCorrelationDraws(
  columns: readonly (readonly (number | null)[])[],
  targets: readonly (readonly (number | null)[])[],
  { resamples, seed }: { readonly resamples: number; readonly seed: number },
): readonly (readonly (Float64Array | null)[])[] {
  option.check("statistics.rankCorrelationDraws", arguments[2], {
    resamples: option.needed(option.resamples),
    seed: option.needed(option.seed),
  });
  const draws = columns.map(() => new Array<Float64Array | null>(targets.length).fill(null));
  for (const { rows, pairs } of sharedRows(columns, targets)) {
    const usable = pairs.filter(({ column, target }) =>
      noCorrelationReason(valuesAt(columns[column], rows), valuesAt(targets[target], rows)) === null
    );
    if (usable.length === 0) continue;
    const columnIds = [...new Set(usable.map((pair) => pair.column))];
    const targetIds = [...new Set(usable.map((pair) => pair.target))];
    const { values } = bootstrapRankCorrelations(
      rankTable(
        columnIds.map((id) => valuesAt(columns[id], rows)),
        targetIds.map((id) => valuesAt(targets[id], rows)),
        rows.length,
      ),
      { resamples, seed },
    );
    for (const { column, target } of usable) {
      const pair = columnIds.indexOf(column) * targetIds.length + targetIds.indexOf(target);
      draws[column][target] = values.subarray(pair * resamples, (pair + 1) * resamples);
    }
  }
  return draws;
}
