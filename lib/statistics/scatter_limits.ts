import * as option from "../options.ts";
import {
  betaUpper,
  chiSquaredQuantile,
  chiSquaredUpperQuantile,
  tQuantile,
} from "./distributions.ts";
import type { Reason } from "./reason.ts";

/** Squared deviations from a group's own mean, summed, and the freedom behind them. */
export type GroupScatter = { readonly squares: number; readonly freedom: number };

/** Limits of a variance pooled over groups, in the reading's unit squared; null with a reason. */
export type ScatterLimits =
  & { readonly method: string }
  & (
    | { readonly lower: number; readonly upper: number; readonly limits_reason: null }
    | { readonly lower: null; readonly upper: null; readonly limits_reason: Reason }
  );

/** Below this number of groups their scatter about each other says too little. */
export const FEWEST_GROUPS = 6;

/**
 * How well is a pooled variance known when nobody knows how the noise is shaped?
 *
 * Limits of normal theory count readings and take their shape for granted: under heavy tails or skew
 * they are far too narrow. Here the groups themselves say how a sum of squares scatters: their squares
 * about the pooled variance give its standard error, their skewness bends the limits (Hall's cubic
 * transformation), and their kurtosis takes freedom from Student's t, as Shoemaker does for variances.
 * The same error on the scale of logarithms, by leaving out one group at a time, gives a second pair;
 * the wider end of each is kept, since the first fails with few groups and the second with heavy tails.
 *
 * With fewer than six groups: chi-squared limits. They take noise as normal, and say so.
 *
 * Where one group holds more than half of all squares, and normal noise would bring that on less than
 * one bench in ten thousand, the variance is that group's and no limits are given: one wild reading says
 * nothing of how far the next one goes. Under t with 4 degrees of freedom that withholds limits on 0 to
 * 2.4% of benches of 6 to 50 shoes.
 *
 * @param groups those with freedom above 0; groups are independent, such as shoes
 * @throws {RangeError} if nothing scatters or no group has freedom
 * @see Cochran 1941, Annals of Eugenics 11:47 (the largest of a set of variances as a fraction of their
 * total); Hall 1992, JRSS B 54:221; Shoemaker 2003, American Statistician 57:103; Bonett 2006, Computational
 * Statistics & Data Analysis 50:775 (the loss under heavy tails); Efron & Stein 1981 (jackknife)
 */
export function scatterLimits(
  groups: readonly GroupScatter[],
  { confidence = 0.95 }: { readonly confidence?: number } = {},
): ScatterLimits {
  option.check("statistics.scatterLimits", arguments[1], { confidence: option.share });
  const used = groups.filter(({ freedom }) => freedom > 0);
  const squares = used.reduce((total, group) => total + group.squares, 0);
  const freedom = used.reduce((total, group) => total + group.freedom, 0);
  if (!(squares > 0)) throw new RangeError("Cannot give limits of a scatter of 0");
  const tail = (1 - confidence) / 2;
  const m = used.length;
  const alone = loneScatter(used, squares, freedom);
  if (alone !== null) {
    return { lower: null, upper: null, limits_reason: alone, method: "no limits" };
  }
  if (m < FEWEST_GROUPS) {
    return {
      lower: squares / chiSquaredUpperQuantile(tail, freedom),
      upper: squares / chiSquaredQuantile(tail, freedom),
      limits_reason: null,
      method: "chi-squared limits, noise taken as normal",
    };
  }
  const variance = squares / freedom;
  const { error, skewness, kurtosis } = momentsAbout(used, variance, freedom);
  const t = tQuantile(1 - tail, shoemakerFreedom(m, kurtosis));
  const bent = (reach: number) => variance - error * untransformed(reach, skewness, m);
  const logError = jackknifedLogError(used, squares, freedom) ?? error / variance;
  return {
    lower: Math.max(0, Math.min(bent(t), variance * Math.exp(-t * logError))),
    upper: Math.max(bent(-t), variance * Math.exp(t * logError)),
    limits_reason: null,
    method: `limits from the scatter of ${m} groups, whatever the shape of the noise`,
  };
}

/** Degrees of freedom of a variance over m values of this excess kurtosis. */
function shoemakerFreedom(m: number, kurtosis: number): number {
  return Math.max(1.5, 2 * m / (Math.max(0, kurtosis) + 2 * m / (m - 1)));
}

/** How much freedom do the tails of independent values, at least four, leave a mean of them? */
export function freedomUnderTails(values: Float64Array): number {
  const m = values.length;
  const mean = values.reduce((sum, value) => sum + value / m, 0);
  const moment = (power: number) =>
    values.reduce((sum, value) => sum + (value - mean) ** power / m, 0);
  return shoemakerFreedom(m, excessKurtosis(moment(2), moment(4), m));
}

/** Unbiased under normal values (G2), from moments about the mean. */
function excessKurtosis(second: number, fourth: number, m: number): number {
  if (!(second > 0)) return 0;
  return (m - 1) / ((m - 2) * (m - 3)) * ((m + 1) * (fourth / second ** 2 - 3) + 6);
}

/** The group that holds most of the squares, where that is more than chance brings (Cochran's C). */
function loneScatter(
  groups: readonly GroupScatter[],
  squares: number,
  freedom: number,
): Reason | null {
  if (groups.length < 2) return null;
  const largest = groups.reduce((most, group) => group.squares > most.squares ? group : most);
  const share = largest.squares / squares;
  const chance = groups.length *
    betaUpper(share, largest.freedom / 2, (freedom - largest.freedom) / 2);
  return share > 0.5 && chance < 1e-4
    ? { code: "one-holds-scatter", percent: Math.round(100 * share) }
    : null;
}

/** Standard error of the pooled variance, and the shape of the groups' deviations from it. */
function momentsAbout(
  groups: readonly GroupScatter[],
  variance: number,
  freedom: number,
): { readonly error: number; readonly skewness: number; readonly kurtosis: number } {
  const m = groups.length;
  let [second, third, fourth] = [0, 0, 0];
  for (const group of groups) {
    const off = group.squares - variance * group.freedom;
    second += off ** 2 / m;
    third += off ** 3 / m;
    fourth += off ** 4 / m;
  }
  if (!(second > 0)) return { error: 0, skewness: 0, kurtosis: 0 };
  return {
    error: m * Math.sqrt(second / (m - 1)) / freedom,
    skewness: third / second ** 1.5,
    kurtosis: excessKurtosis(second, fourth, m),
  };
}

/** Hall's transformation turned round: where skewness leaves a reach of Student's t. */
function untransformed(reach: number, skewness: number, m: number): number {
  const bend = skewness / (3 * Math.sqrt(m));
  const y = reach - skewness / (6 * Math.sqrt(m));
  return Math.abs(bend) < 1e-9 ? y : (Math.cbrt(1 + 3 * bend * y) - 1) / bend;
}

/** Standard error of the logarithm; null where one group holds all the scatter. */
function jackknifedLogError(
  groups: readonly GroupScatter[],
  squares: number,
  freedom: number,
): number | null {
  const m = groups.length;
  const logs = groups.map((group) =>
    Math.log((squares - group.squares) / (freedom - group.freedom))
  );
  if (!logs.every(Number.isFinite)) return null;
  const centre = logs.reduce((total, log) => total + log / m, 0);
  return Math.sqrt((m - 1) / m * logs.reduce((total, log) => total + (log - centre) ** 2, 0));
}
