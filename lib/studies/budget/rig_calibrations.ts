import { mean } from "simple-statistics";
import type { Calibration } from "../../records/types.ts";
import { conformanceProbability } from "../../statistics/conformance.ts";
import { tQuantile } from "../../statistics/distributions.ts";
import { weightedRegression } from "../../statistics/weighted_regression.ts";

/** What checks against known values say of one rig on one metric. */
export type RigCalibration = {
  readonly rig: string;
  readonly checks: number;
  readonly last: string;
  /** Mean of reading minus known value, in the metric's unit. */
  readonly error: number;
  /** Standard uncertainty of that error, the known values' own included. */
  readonly standard_uncertainty: number;
  readonly freedom: number;
  /** How the error grows a unit of the known value; null with fewer than three known values. */
  readonly slope: {
    readonly estimate: number;
    readonly lower: number;
    readonly upper: number;
  } | null;
  /** Whether the error is surely larger than the smallest difference that matters; null without one. */
  readonly out_of_tolerance: boolean | null;
  /** Whether it is surely smaller. Where neither is so, it can't be told. */
  readonly within_tolerance: boolean | null;
  /** Probability that the error lies within it; null where nothing tells how sure the error is. */
  readonly tolerance_chance: number | null;
};

/**
 * How far does each rig read off known values, and does the error grow with them?
 *
 * Mean error with the scatter of the checks (type A) and the largest uncertainty of a known value (type B),
 * which checks against one weight share. The slope over known values is tested where there are three of them
 * or more. Out of tolerance: the whole interval of the error lies beyond what matters to a player; within it:
 * all of it inside. One check against a value whose uncertainty nobody wrote down tells neither.
 *
 * @see JCGM 100:2008; JCGM 106:2012, 7.4 (conformance probability), 8.3.2 and 8.3.3 (guarded acceptance, rejection)
 */
export function rigCalibrations(
  calibrations: readonly Calibration[],
  tolerance: number | null,
  confidence: number,
): RigCalibration[] {
  return [...Map.groupBy(calibrations, ({ rig }) => rig)].map(([rig, own]): RigCalibration => {
    const errors = own.map(({ reading, reference_value }) => reading - reference_value);
    const n = errors.length;
    const centre = mean(errors);
    const scatter = n < 2 ? 0 : errors.reduce((sum, x) => sum + (x - centre) ** 2, 0) / (n - 1) / n;
    const known = Math.max(...own.map(({ reference_uncertainty: u }) => u ?? 0));
    const standard_uncertainty = Math.sqrt(scatter + known * known);
    const freedom = Math.max(1, n - 1);
    const reach = tQuantile((1 + confidence) / 2, freedom) * Math.sqrt(scatter) +
      tQuantile((1 + confidence) / 2, 1e6) * known;
    const judged = tolerance === null || (n < 2 && known === 0) ? null : tolerance;
    return {
      rig,
      checks: n,
      last: own.map(({ date }) => date).sort().at(-1)!,
      error: centre,
      standard_uncertainty,
      freedom,
      slope: slopeOf(own, errors, confidence),
      out_of_tolerance: judged === null ? null : Math.abs(centre) - reach > judged,
      within_tolerance: judged === null ? null : Math.abs(centre) + reach <= judged,
      tolerance_chance: judged === null || !(standard_uncertainty > 0)
        ? null
        : conformanceProbability(centre, standard_uncertainty, { low: -judged, high: judged }),
    };
  }).sort((a, b) => a.rig < b.rig ? -1 : 1);
}

function slopeOf(
  own: readonly Calibration[],
  errors: readonly number[],
  confidence: number,
): RigCalibration["slope"] {
  const known = own.map(({ reference_value }) => reference_value);
  if (new Set(known).size < 3) return null;
  const middle = mean(known);
  const { estimate } = weightedRegression(
    { level: known.map(() => 1), slope: known.map((value) => value - middle) },
    errors.map((error) => error - errors[0]),
  ).test("slope", confidence);
  return estimate.estimate === null || estimate.lower === null || estimate.upper === null
    ? null
    : { estimate: estimate.estimate, lower: estimate.lower, upper: estimate.upper };
}
