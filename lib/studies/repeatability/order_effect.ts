import { mean, sum } from "simple-statistics";
import type { Visit } from "../../records/selection.ts";
import { tQuantile, tUpper } from "../../statistics/distributions.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import type { Reason } from "../../statistics/reason.ts";

/** Slope over trial number, with its test. */
export type OrderEffect = {
  readonly slope: Estimate;
  /** Of the hypothesis that trials do not change within a visit. */
  readonly p: number | null;
  readonly p_reason: Reason | null;
};

/**
 * Does a reading change from trial to trial within a visit?
 *
 * Least squares of value on trial number with a level of its own for every visit, pair and side: what
 * differs between shoes or days cannot pass for an effect of order. A foam that packs down or a paper
 * that loads up shows here.
 *
 * @returns change a trial, in the metric's unit; null with a reason when no visit has three trials' worth
 * of freedom or the readings never differ
 */
export function orderEffect(
  visits: readonly Visit[],
  { confidence }: { readonly confidence: number },
): OrderEffect {
  const runs = visits.flatMap(runsOf).filter((run) => run.length > 1);
  const n = sum(runs.map((run) => run.length));
  const about = { confidence, method: "least squares within visits, Student's t interval", n };
  const nothing = (reason: Reason): OrderEffect => ({
    slope: noEstimate(reason, about),
    p: null,
    p_reason: reason,
  });
  if (n === 0) return nothing({ code: "read-once-a-visit" });
  const freedom = n - runs.length - 1;
  if (freedom < 1) return nothing({ code: "too-few-for-slope" });

  let [trialSquares, products, valueSquares, largest] = [0, 0, 0, 0];
  for (const run of runs) {
    const trialMean = mean(run.map(({ trial }) => trial));
    const pivot = run[0].value;
    const valueMean = mean(run.map(({ value }) => value - pivot));
    for (const { trial, value } of run) {
      trialSquares += (trial - trialMean) ** 2;
      products += (trial - trialMean) * (value - pivot - valueMean);
      valueSquares += (value - pivot - valueMean) ** 2;
      largest = Math.max(largest, Math.abs(value));
    }
  }
  if (trialSquares === 0) return nothing({ code: "constant", which: "trial numbers" });
  const rounding = n * (4 * Number.EPSILON * largest) ** 2;
  if (valueSquares <= rounding) {
    return nothing({ code: "hidden-by-resolution" });
  }
  const slope = products / trialSquares;
  const left = valueSquares - slope * products;
  if (left <= rounding) {
    return nothing({ code: "no-noise", of: "fit" });
  }
  const error = Math.sqrt(left / freedom / trialSquares);
  const reach = tQuantile((1 + confidence) / 2, freedom) * error;
  return {
    slope: {
      estimate: slope,
      estimate_reason: null,
      lower: slope - reach,
      upper: slope + reach,
      ...about,
      warnings: [],
    },
    p: Math.min(1, 2 * tUpper(Math.abs(slope) / error, freedom)),
    p_reason: null,
  };
}

/** Trials that were taken one after the other: trial numbers start again for each pair and side. */
function runsOf({ trials }: Visit): { readonly trial: number; readonly value: number }[][] {
  const runs = Map.groupBy(trials, ({ pair, side }) => `${pair} ${side ?? ""}`);
  return [...runs.values()].map((run) => run.map(({ trial, value }) => ({ trial, value: value! })));
}
