import * as option from "../options.ts";
import { checkReadings } from "./checks.ts";
import { chiSquaredQuantile, chiSquaredUpperQuantile } from "./distributions.ts";
import { type Estimate, noEstimate } from "./estimate.ts";
import { oneWayAnova } from "./one_way_anova.ts";
import { repeatabilityLimit } from "./repeatability_limit.ts";
import { repeatabilitySd } from "./repeatability_sd.ts";
import type { Reason } from "./reason.ts";

/** Precision of one subject read by several operators, rigs or laboratories. */
export type InterlaboratoryPrecision = {
  readonly mean: number | null;
  readonly repeatabilitySd: Estimate;
  readonly reproducibilitySd: Estimate;
  readonly betweenVariance: number | null;
  /** True when the variance between came out negative and was set to 0. */
  readonly boundary: boolean;
  readonly repeatabilityLimit: Estimate;
  readonly reproducibilityLimit: Estimate;
};

/**
 * How alike are readings of one thing within an operator, and from one operator to the next?
 *
 * s_r pools the scatter within operators; s_R² adds the variance between their means (by mean squares,
 * 0 when negative). Operators' means are weighed by their readings when these are unequal. Limits of
 * s_R by the modified large-sample method, as s_R² is a sum of two mean squares.
 *
 * @param readingsByOperator one list of readings per operator (or rig, session, laboratory)
 * @throws {RangeError} if a reading is not finite
 * @see ISO 5725-2; ASTM E691; Burdick & Graybill 1992 for the limits
 */
export function interlaboratoryPrecision(
  readingsByOperator: readonly (readonly (number | null)[])[],
  { confidence = 0.95 }: { readonly confidence?: number } = {},
): InterlaboratoryPrecision {
  option.check("statistics.interlaboratoryPrecision", arguments[1], { confidence: option.share });
  checkReadings(readingsByOperator.flat(), "compare operators");
  const groups = readingsByOperator.map((group) => group.filter((x) => x !== null) as number[])
    .filter((group) => group.length > 0);
  const all = groups.flat();
  const within = repeatabilitySd(groups, { confidence });
  const anova = oneWayAnova(groups);
  const mean = all.length > 0
    ? all[0] + all.reduce((total, x) => total + (x - all[0]), 0) / all.length
    : null;
  const about = {
    confidence,
    n: all.length,
    method: "mean squares, modified large-sample interval",
    warnings: [] as Reason[],
  };
  if (anova.between === null || anova.within === null || within.estimate === null) {
    const none = noEstimate(anova.reason ?? within.estimate_reason ?? { code: "no-fit" }, about);
    return {
      mean,
      repeatabilitySd: within,
      reproducibilitySd: none,
      betweenVariance: null,
      boundary: false,
      repeatabilityLimit: repeatabilityLimit(within),
      reproducibilityLimit: repeatabilityLimit(none),
    };
  }
  const { df: df1, ms: ms1 } = anova.between;
  const { df: df2, ms: ms2 } = anova.within;
  const usual = (all.length - groups.reduce((t, g) => t + g.length ** 2, 0) / all.length) / df1;
  const raw = (ms1 - ms2) / usual;
  const boundary = raw < 0;
  if (boundary) about.warnings.push({ code: "negative-between" });
  const variance = Math.max(0, raw) + ms2;
  const [a, b] = [ms1 / usual, ms2 * (1 - 1 / usual)];
  const tail = (1 - confidence) / 2;
  const below = (df: number) => 1 - df / chiSquaredUpperQuantile(tail, df);
  const above = (df: number) => df / chiSquaredQuantile(tail, df) - 1;
  const lower = a + b - Math.hypot(a * below(df1), b * below(df2));
  const upper = a + b + Math.hypot(a * above(df1), b * above(df2));
  const reproducibility: Estimate = {
    estimate: Math.sqrt(variance),
    estimate_reason: null,
    lower: Math.sqrt(Math.max(0, Math.min(lower, variance))),
    upper: Math.sqrt(Math.max(upper, variance)),
    ...about,
  };
  return {
    mean,
    repeatabilitySd: within,
    reproducibilitySd: reproducibility,
    betweenVariance: Math.max(0, raw),
    boundary,
    repeatabilityLimit: repeatabilityLimit(within),
    reproducibilityLimit: repeatabilityLimit(reproducibility),
  };
}
