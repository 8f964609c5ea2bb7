import * as option from "../options.ts";

/** Plain and family-wise p-values, in the order of the statistics given. */
export type MaxStatisticAdjustment = {
  readonly p: readonly number[];
  readonly p_single_step: readonly number[];
  readonly p_step_down: readonly number[];
};

/**
 * Which of several statistics stand out, given that the best of them was bound to look good?
 *
 * Compares each statistic with the largest that the same relabelling of the data gives among it and
 * all weaker ones (step-down), and among all (single step). Statistics must be on one footing, larger
 * meaning stronger: |rho| over equal n, |t|, not raw differences in different units.
 *
 * @param observed one statistic per hypothesis
 * @param relabelled one row per relabelling of the data, in it one statistic per hypothesis
 * @param complete true if the rows are all possible relabellings, the observed one among them: then p
 *   is a plain share; else (reached + 1) / (rows + 1)
 * @throws {RangeError} if a row has another length or a value is not finite
 * @see Westfall & Young 1993, Resampling-Based Multiple Testing, algorithm 2.8
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const { p_step_down } = statistics.maxStatisticAdjust([3, 1], [[3, 1], [1, 3], [0, 2], [2, 0]], {
 *   complete: true,
 * });
 * assert.deepEqual(p_step_down, [0.5, 0.75]);
 * ```
 */
export function maxStatisticAdjust(
  observed: readonly number[],
  relabelled: readonly ArrayLike<number>[],
  { complete = false }: { readonly complete?: boolean } = {},
): MaxStatisticAdjustment {
  option.check("statistics.maxStatisticAdjust", arguments[2], { complete: option.flag });
  const m = observed.length;
  const odd = observed.find((value) => !Number.isFinite(value));
  if (odd !== undefined) throw new RangeError(`A statistic is ${odd}; expected finite numbers`);
  if (complete && relabelled.length === 0) {
    throw new RangeError("All relabellings were promised, none was given");
  }
  const ladder = observed.map((_, j) => j).sort((a, b) => observed[b] - observed[a] || a - b);
  // Equal but for rounding counts as reached.
  const goal = observed.map((value) => value - 1e-12 * Math.abs(value));
  const plain = new Float64Array(m);
  const single = new Float64Array(m);
  const stepDown = new Float64Array(m);
  for (const row of relabelled) {
    if (row.length !== m) {
      throw new RangeError(`A relabelling has ${row.length} statistics, expected ${m}`);
    }
    let largest = -Infinity;
    for (let rung = m - 1; rung >= 0; rung--) {
      const j = ladder[rung];
      if (!Number.isFinite(row[j])) {
        throw new RangeError(`A relabelled statistic is ${row[j]}; expected finite numbers`);
      }
      if (row[j] >= goal[j]) plain[j]++;
      largest = Math.max(largest, row[j]);
      if (largest >= goal[j]) stepDown[j]++;
    }
    for (let j = 0; j < m; j++) if (largest >= goal[j]) single[j]++;
  }
  const share = (reached: number) =>
    complete ? reached / relabelled.length : (reached + 1) / (relabelled.length + 1);
  const p_step_down = new Array<number>(m);
  let highest = 0;
  for (const j of ladder) {
    highest = Math.max(highest, share(stepDown[j]));
    p_step_down[j] = highest;
  }
  return { p: Array.from(plain, share), p_single_step: Array.from(single, share), p_step_down };
}
